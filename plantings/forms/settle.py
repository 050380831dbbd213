"""The form that settles where two keyings of a page differ: each cell as keyed first, as keyed second, or typed."""

from dataclasses import replace
from uuid import uuid4

from plantings.calc.census.measurements import FIELDS
from plantings.forms.grid import GridRowForm
from plantings.services.census.observations import CensusRow

FIRST, SECOND, OTHER = "first", "second", "other"


class SettleTree:
    """One tree of a SettleForm: its cells, what was chosen, and the row that follows."""

    def __init__(self, difference, census_round, asked, data):
        self.difference, self.census_round, self.asked = difference, census_round, asked
        self.tree = difference.tree
        self.cells = [self._cell(cell, data) for cell in difference.cells]
        self.errors, self.row = [], None

    def _cell(self, cell, data):
        name, first, second = cell
        key = f"{self.tree.pk}-{name}"
        choice, typed = (data.get(f"c{key}", ""), data.get(f"t{key}", "").strip()) if data is not None else ("", "")
        return {"name": name, "key": key, "first": first, "second": second, "choice": choice, "typed": typed}

    @property
    def decided(self):
        return {cell["name"]: cell["typed"] if cell["choice"] == OTHER else cell.get(cell["choice"], "") for cell in self.cells}

    def clean(self, cells, observed_on, observer):
        """Read the chosen texts as the grid would; `cells` is all that the record on file says."""
        if any(cell["choice"] not in (FIRST, SECOND, OTHER) for cell in self.cells):
            self.errors = ["Choose what each cell says."]
            return
        texts = cells | self.decided
        if not any(texts.values()) or all(cell["choice"] == FIRST for cell in self.cells):
            return
        data = {f"t{self.tree.pk}-{name}": text for name, text in texts.items()} | {f"t{self.tree.pk}-uuid": str(uuid4())}
        form = GridRowForm(data, tree=self.tree, asked=self.asked)
        form.census_round, form.head = self.census_round, {"observed_on": observed_on, "observer": observer}
        if form.is_valid():
            self.row = form.row()
        else:
            self.errors = [f"{form.fields[name].label}: {' '.join(found)}" if name in form.fields else " ".join(found)
                           for name, found in form.errors.items()]  # fmt: skip


class SettleForm:
    """All cells of a page in which a second keying differs from the records on file."""

    def __init__(self, keying, comparison, asked, first_cells, data=None):
        self.keying, self.comparison = keying, comparison
        self.first_cells = first_cells  # {tree pk: {box: text}}
        self.trees = [SettleTree(difference, keying.page.round, asked, data) for difference in comparison.trees]
        self.day = data.get("day", "") if data is not None else ""
        self.day_error = ""

    def is_valid(self):
        days = self.comparison.days
        if days and self.day not in (FIRST, SECOND):
            self.day_error = "Choose the day."
        for tree in self.trees:
            record = tree.difference.record
            observed_on, observer = (record.observed_on, record.observer) if record else (self.keying.observed_on, self.keying.observer)
            if days and self.day:
                observed_on = days[self.day == SECOND]
            tree.clean(self.first_cells.get(tree.tree.pk, {}), observed_on, observer)
        return not self.day_error and not any(tree.errors for tree in self.trees)

    def rows(self, records):
        """The rows to store; `records` are {tree pk: the record on file} of the whole page, for a day that was wrong on all of it."""
        found = {}
        for tree in self.trees:
            if tree.row is not None:
                record = tree.difference.record
                found[tree.tree.pk] = replace(tree.row, supersedes_id=record.pk if record else None)
        if self.comparison.days and self.day == SECOND:
            for pk, record in records.items():
                found.setdefault(pk, _of_another_day(record, self.comparison.days[1]))
        return list(found.values())

    @property
    def decided(self):
        found = {str(tree.tree.pk): tree.decided for tree in self.trees}
        return found | ({"day": {"observed_on": self.comparison.days[self.day == SECOND].isoformat()}} if self.comparison.days else {})


def _of_another_day(record, day):
    """A row that says what a record says, of another day."""
    names = ("round_id", "tree_id", "observer", "status", "cause", "note", "own_values", *FIELDS)
    return CensusRow(**{name: getattr(record, name) for name in names}, observed_on=day, supersedes_id=record.pk)
