"""What loading a combined sheet would do, kind by kind, before anything is done."""

from dataclasses import dataclass, field, replace

from registry.imports.sheets.plan import CHANGED, REPEATED, Plan, grouped
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
        return [
            replace(problem, column=", ".join(filter(None, (part.sheet.title, problem.column))))
            for part in self.parts
            for problem in part.plan.problems
        ]

    def problem_lines(self):
        """What is wrong, kind by kind, the same said of many rows once."""
        return [f"{part.sheet.title}, {line}" for part in self.parts for line in grouped(part.plan.problems)]

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
        return "; ".join(f"{title.lower()}: {words}" for title, words in self.parts_words().items()) or "nothing"


def _words(counts):
    return ", ".join(f"{count:,} {name}" for name, count in counts.items() if count and name != REPEATED) or "nothing"
