"""What an import would do, row by row, before anything is done."""

from dataclasses import dataclass, field

from registry.calc.shared.screen import amount_words, unit_words

NEW, CHANGED, UNCHANGED, REPEATED, WRONG = "new", "changed", "unchanged", "repeated", "wrong"
PROBLEMS_MAX = 1_000


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a row (or, with row None, with the sheet): where, what it said, what to do."""

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
    not_taken: list = field(default_factory=list)
    wrong_rows: set = field(default_factory=set)
    repeats: dict = field(default_factory=dict)  # {row that says the same again: the first row that says it}

    def refuse(self, problem):
        """Note what is wrong with a row; the first thousand are listed, and every wrong row is counted."""
        self.wrong_rows.add(problem.row)
        if len(self.problems) < PROBLEMS_MAX:
            self.problems.append(problem)
            if len(self.problems) == PROBLEMS_MAX:
                self.notes.append(f"Only the first {PROBLEMS_MAX:,} problems are listed.")

    def sound(self, outcome):
        """The rows of one outcome that nothing is wrong with."""
        return [item for item in self.items if item.outcome == outcome and item.row not in self.wrong_rows]

    @property
    def counts(self):
        """How many rows come to what; a wrong row is wrong and nothing else."""
        counts = {outcome: len(self.sound(outcome)) for outcome in (NEW, CHANGED, UNCHANGED)}
        return counts | {REPEATED: self.repeated, WRONG: len(self.wrong_rows)}

    def column_words(self):
        """One sentence on the columns of the file that nothing is taken from; empty when there are none."""
        if not self.not_taken:
            return ""
        listed = ", ".join(f"“{header}”" for header in self.not_taken)
        return f"Columns of the file that are not used: {listed}. Map them if you need them."

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
        lines.append(f"{unit_words(len(numbers), 'rows')} {shown}{more}{f', column {column!r}' if column else ''}: {message}")
    return lines


class SheetRefused(Exception):
    """Nothing was stored: the plan has problems."""

    def __init__(self, plan):
        self.plan = plan
        super().__init__(f"{len(plan.problems)} problems; the first: {plan.problems[0]}")


class ReasonMissing(Exception):
    """Nothing was stored: records would change, and no reason was given."""

    def __init__(self, count):
        rows = f"{amount_words(count, 'rows')} on file {'changes' if count == 1 else 'change'}"
        super().__init__(f"{rows}, and no reason was given. Nothing was stored. The reason is saved with each record.")
