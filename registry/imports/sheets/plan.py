"""What an import would do, row by row, before anything is done."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from registry.calc.shared.screen import amount_words, unit_words

NEW, CHANGED, UNCHANGED, REPEATED, WRONG, ASIDE = "new", "changed", "unchanged", "repeated", "wrong", "set aside"
PROBLEMS_MAX = 10_000


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a row (or, with row None, with the sheet): where, what it said, what to do.

    `tied` are rows that cannot be stored without this one: those it contradicts, or that one service would store with it.
    """

    row: int | None
    column: str
    value: str
    message: str
    tied: tuple = ()

    def __str__(self):
        where = [f"row {self.row}"] if self.row is not None else []
        if self.column:
            where.append(f"column '{self.column}'")
        if self.value != "":
            return f"{', '.join(where)}: '{self.value}' {self.message}"
        return f"{', '.join(where)}: {self.message}" if where else self.message


_NO_CHANGES = MappingProxyType({})  # one for all rows of a long sheet


@dataclass(slots=True)
class Item:
    """One row that would be stored: its values by field name, and what is stored now."""

    row: int
    key: tuple
    values: dict
    outcome: str = NEW
    current: object = None
    changes: Mapping = field(default_factory=lambda: _NO_CHANGES)


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
    aside: dict = field(default_factory=dict)  # {row that was set aside: its problems}
    load: object = None  # the record of the load, once it is stored
    used: int | None = None  # rows of the file that the mapping uses, where it says which
    in_parts: bool = False  # made of parts, whose items are gone
    parts: Counter = field(default_factory=Counter)  # {outcome: sound rows of the parts}

    def refuse(self, problem):
        """Note what is wrong with a row; the first thousand are listed, and every wrong row is counted."""
        self.wrong_rows.add(problem.row)
        if len(self.problems) < PROBLEMS_MAX:
            self.problems.append(problem)
            if len(self.problems) == PROBLEMS_MAX:
                self.notes.append(f"Only the first {PROBLEMS_MAX:,} problems are listed.")

    def say_used(self):
        self.notes.append(f"{amount_words(self.used, 'rows')} of the file are used, as the mapping says.")

    def take_in(self, part):
        """Add the plan of a part of the file; its items go."""
        self.parts.update({outcome: part.counts[outcome] for outcome in (NEW, CHANGED, UNCHANGED)})
        for problem in part.problems:
            self.refuse(problem)
        self.wrong_rows |= part.wrong_rows
        self.warnings += part.warnings
        self.repeated += part.repeated
        self.repeats |= part.repeats
        self.notes += [note for note in part.notes if note not in self.notes]
        self.mapped, self.not_taken = part.mapped, part.not_taken
        if part.used is not None:
            self.used = (self.used or 0) + part.used

    def sound(self, outcome):
        """The rows of one outcome that nothing is wrong with."""
        return [item for item in self.items if item.outcome == outcome and item.row not in self.wrong_rows]

    @property
    def counts(self):
        """How many rows come to what; a wrong row is wrong and nothing else."""
        counts = {outcome: len(self.sound(outcome)) + self.parts[outcome] for outcome in (NEW, CHANGED, UNCHANGED)}
        counts |= {REPEATED: self.repeated, WRONG: len(self.wrong_rows)}
        return counts | {ASIDE: len(self.aside)} if self.aside else counts

    def rows_out(self):
        """{row: its problems} of every row that cannot be stored as it is, with those tied to it. Raises SheetRefused where they cannot
        be told: one is about no row, or there are more than are listed."""
        if None in self.wrong_rows or len(self.problems) >= PROBLEMS_MAX:
            raise SheetRefused(self)
        found = {}
        for problem in self.problems:
            for row in (problem.row, *problem.tied):
                found.setdefault(row, []).append(problem)
        return found

    def column_words(self):
        """One sentence on the columns of the file that nothing is taken from; empty when there are none."""
        if not self.not_taken:
            return ""
        listed = ", ".join(f"“{header}”" for header in self.not_taken)
        return f"Columns of the file that are not used: {listed}. Map them if you need them."

    def summary(self):
        return ", ".join(f"{count:,} {name}" for name, count in self.counts.items() if count) or "nothing"


@dataclass(frozen=True, slots=True)
class Group:
    """The same thing said of several rows, said once; `values` are the different cells, in the order of the rows."""

    rows: tuple
    column: str
    values: tuple
    message: str

    def row_words(self, shown=3):
        """The rows it is about, the first of them by number."""
        rows = [row for row in self.rows if row is not None]
        return ", ".join(f"{row}" for row in rows[:shown]) + (f" and {len(rows) - shown:,} more" if len(rows) > shown else "")

    def value_words(self, shown=3):
        """The cells it is about, the first of them as written."""
        values = [value for value in self.values if value != ""]
        return ", ".join(values[:shown]) + (f" and {len(values) - shown:,} others" if len(values) > shown else "")

    def first_words(self):
        """For the first row of a group, in a sheet that goes back: how many rows have the same fault."""
        return f" (the same in {amount_words(len(self.rows), 'rows')}, this is the first)" if len(self.rows) > 1 else ""

    def __str__(self):
        rows = self.row_words()
        where = [f"{unit_words(len(self.rows), 'rows')} {rows}"] if rows else []
        where += [f"column {self.column!r}"] if self.column else []
        said = f": '{self.value_words()}' {self.message}" if self.value_words() else f": {self.message}"
        return (", ".join(where) + said).removeprefix(": ")


def groups(problems):
    """Problems with equal column and message as one Group each, in the order in which the file has the first row of each."""
    found = {}
    for problem in sorted(problems, key=lambda problem: problem.row or 0):
        rows, values = found.setdefault((problem.column, problem.message), ({}, {}))
        rows[problem.row] = values[problem.value] = None
    return [Group(tuple(rows), column, tuple(values), message) for (column, message), (rows, values) in found.items()]


def grouped(problems):
    """The lines of `groups`, for a command or a list."""
    return [str(group) for group in groups(problems)]


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
