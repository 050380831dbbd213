"""What loading a combined sheet would do, kind by kind, before anything is done."""

from dataclasses import dataclass, field, replace

from registry.calc.shared.screen import amount_words
from registry.imports.sheets.plan import CHANGED, REPEATED, Plan, SheetRefused, grouped
from registry.imports.sheets.sheet import Sheet

__all__ = ["CombinedPlan", "PartPlan"]


@dataclass
class PartPlan:
    """One kind of the sheet: how it is read, and what would be stored of it."""

    sheet: Sheet
    plan: Plan


@dataclass
class CombinedPlan:
    """The plans of all kinds, in load order; what a page or the command asks of a `Plan`, this gives for all of them."""

    rows: int = 0
    parts: list = field(default_factory=list)
    file_notes: list = field(default_factory=list)
    unread: list = field(default_factory=list)  # titles of the kinds that were not checked, because what they build on was refused
    not_taken: list = field(default_factory=list)
    refused: list = field(default_factory=list)  # problems of a sheet of which no row is left
    aside: dict = field(default_factory=dict)  # {row that was set aside: its problems, with the kind before the column}
    load: object = None  # the record of the load, once it is stored

    def add(self, sheet, plan, known_wrong):
        """Take in the plan of the next kind, without what is said of rows that are wrong in an earlier kind already."""
        plan.problems = [problem for problem in plan.problems if problem.row not in known_wrong]
        taken = set(plan.not_taken)
        self.not_taken = [header for header in self.not_taken if header in taken] if self.parts else list(plan.not_taken)
        self.parts.append(PartPlan(sheet, plan))

    @property
    def problems(self):
        """What is wrong, with the kind before the column of the sheet."""
        return self.refused or [_of_kind(part, problem) for part in self.parts for problem in part.plan.problems]

    def rows_out(self):
        """{row: its problems} of every row that cannot be stored as it is, with those that say the same of a record, which would be wrong
        next. Raises SheetRefused as `Plan.rows_out` does."""
        found = {}
        for part in self.parts:
            try:
                wrong = part.plan.rows_out() if part.plan.problems else {}
            except SheetRefused:
                raise SheetRefused(self) from None
            wrong |= {row: wrong[first] for row, first in part.plan.repeats.items() if first in wrong and row not in wrong}
            for row, problems in wrong.items():
                found.setdefault(row, []).extend(_of_kind(part, problem) for problem in problems)
        return found

    def refuse_all(self):
        """No row is left to store: what was set aside is what is wrong."""
        self.refused = [problem for problems in self.aside.values() for problem in problems]

    def came(self, marks):
        """The marks of the rows of an earlier load that are on file now: every part that uses them has them."""
        used = {item.row for part in self.parts for item in part.plan.items} | {row for part in self.parts for row in part.plan.repeats}
        return [mark for row, mark in marks.items() if row in used]

    def problem_lines(self):
        """What is wrong, kind by kind, the same said of many rows once."""
        if self.refused:
            return grouped(self.refused)
        return [f"{part.sheet.title}, {line}" for part in self.parts for line in grouped(part.plan.problems)]

    def aside_lines(self):
        """What is wrong with the rows that were set aside, the same said of many rows once."""
        return grouped([problem for problems in self.aside.values() for problem in problems if problem.row in self.aside])

    def warning_lines(self):
        return [f"{part.sheet.title}, {line}" for part in self.parts for line in grouped(part.plan.warnings)]

    @property
    def notes(self):
        """Notes of the file and of each kind."""
        titles = {}
        for part in self.parts:
            for note in part.plan.notes:
                titles.setdefault(note, []).append(part.sheet.title)
        said = [f"{', '.join(kinds) if len(kinds) < len(self.parts) else 'All kinds'}: {note}" for note, kinds in titles.items()]
        unread = [f"Not checked yet, since they build on what is wrong: {', '.join(self.unread)}."] if self.unread else []
        return [*self.file_notes, *said, *unread]

    @property
    def changed(self):
        """How many records on file would change."""
        return sum(part.plan.counts[CHANGED] for part in self.parts)

    @property
    def counts(self):
        """{kind: how many of its rows come to what}, of what there is any."""
        return {part.sheet.kind: {name: count for name, count in part.plan.counts.items() if count} for part in self.parts}

    column_words = Plan.column_words

    def parts_words(self):
        """{title: what is new, changed and unchanged}; rows that say the same again are left out, since most do of most kinds."""
        return {part.sheet.title: _words(part.plan.counts) for part in self.parts}

    def audit_changes(self):
        """What the audit trail says was stored: {title: [None, words]}."""
        return {title: [None, words] for title, words in self.parts_words().items()}

    def summary(self):
        said = [f"{title.lower()}: {words}" for title, words in self.parts_words().items()]
        return "; ".join([*said, *([f"{amount_words(len(self.aside), 'rows')} set aside"] if self.aside else [])]) or "nothing"


def _of_kind(part, problem):
    return replace(problem, column=", ".join(filter(None, (part.sheet.title, problem.column))))


def _words(counts):
    return ", ".join(f"{count:,} {name}" for name, count in counts.items() if count and name != REPEATED) or "nothing"
