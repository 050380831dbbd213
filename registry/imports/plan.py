"""What an import would do, row by row, before anything is done."""

from dataclasses import dataclass, field

NEW, CHANGED, UNCHANGED, REPEATED, WRONG = "new", "changed", "unchanged", "repeated", "wrong"
OUTCOMES = (NEW, CHANGED, UNCHANGED, REPEATED, WRONG)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a row (or, with row None, with the sheet): where, what stood there, what to do."""

    row: int | None
    column: str
    value: str
    message: str

    def __str__(self):
        where = [f"row {self.row}"] if self.row is not None else []
        if self.column:
            where.append(f"column '{self.column}'")
        if self.value != "":
            return f"{', '.join(where)}: '{self.value}' {self.message}"
        return f"{', '.join(where)}: {self.message}" if where else self.message


@dataclass(slots=True)
class Item:
    """One row that would be stored: its values by field name, and what is stored now."""

    row: int
    key: tuple
    values: dict
    outcome: str = NEW
    current: object = None
    changes: dict = field(default_factory=dict)


@dataclass
class Plan:
    items: list = field(default_factory=list)
    problems: list = field(default_factory=list)
    warnings: list = field(default_factory=list)
    repeated: int = 0
    rows: int = 0
    notes: list = field(default_factory=list)
    mapped: dict = field(default_factory=dict)

    @property
    def counts(self):
        counts = dict.fromkeys(OUTCOMES, 0)
        for item in self.items:
            counts[item.outcome] += 1
        counts[REPEATED] = self.repeated
        counts[WRONG] = len({problem.row for problem in self.problems})
        return counts

    def summary(self):
        return ", ".join(f"{count:,} {name}" for name, count in self.counts.items() if count) or "nothing"


def grouped(problems, rows_shown=3):
    """The same thing said of many rows, said once: problems with equal column and message become one line each."""
    rows = {}
    for problem in problems:
        rows.setdefault((problem.column, problem.message), []).append(problem.row)
    lines = []
    for (column, message), numbers in rows.items():
        shown = ", ".join(str(number) for number in numbers[:rows_shown])
        more = f" and {len(numbers) - rows_shown:,} more" if len(numbers) > rows_shown else ""
        lines.append(f"row{'s' if len(numbers) > 1 else ''} {shown}{more}{f', column {column!r}' if column else ''}: {message}")
    return lines


class SheetRefused(Exception):
    """Nothing was stored: the plan has problems."""

    def __init__(self, plan):
        self.plan = plan
        super().__init__(f"{len(plan.problems)} problems; the first: {plan.problems[0]}")
