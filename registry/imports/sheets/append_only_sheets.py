"""Sheets of records that stay as they were entered: each row tells one record from the others of its day."""

from collections import Counter

from django.core.exceptions import ValidationError

from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import NumberCell
from registry.imports.sheets.plan import NEW, Problem
from registry.imports.sheets.sheet import Sheet, comparable

AGAIN = "the sheet was loaded again with other values"
LOADED = "loaded from a sheet"
_AT_ONCE = 900


def number_field():
    """Tells two records of one day apart that say the same of what they are about."""
    return SheetField("Number within the day (blank is 1)", "nth", NumberCell(1, 99, whole=True), example="")


def differs(item, what_to_do):
    """The refusal of a row that differs from the record it names, at the first cell that does."""
    return ValidationError({next(iter(item.changes)): f"differs from the record. {what_to_do}"})


class StoredOnce:
    """A row whose record is stored never changes it: somebody has read or signed what it says."""

    changed_words = ""

    def save_row(self, values, item, actor, reason):
        if item.current:
            raise differs(item, self.changed_words)
        return self.add_row(values, actor, reason)

    def add_row(self, values, actor, reason):
        """Store a new record through its service."""
        raise NotImplementedError


class AppendOnlySheet(Sheet):
    """A sheet whose rows never change a stored record.

    `told_apart` names the fields that say what a row is about; those that are records come first in a look-up.
    Rows that agree in them are told apart by `nth`, in the order they were entered. A row that differs from its record is
    refused with `changed_words`, unless a sheet says in `correct_row` what a correction is. With `last_counts`, a later record
    of the same key replaces the earlier ones, and there is no `nth`.
    """

    told_apart = ()
    changed_words = ""
    last_counts = False

    def row_key(self, item):
        return (*(self.key_part(name, item.values.get(name)) for name in self.told_apart), item.values.get("nth", 1))

    def key_part(self, name, value):
        return comparable(value)

    def stored_records(self):
        return super().stored_records().order_by("pk")

    def stored_for(self, items):
        """The stored records these rows may be about."""
        fields = self.sheet_fields()
        for name in self.told_apart:
            if not isinstance(fields[name].widget, RecordCell):
                continue
            keys = sorted({item.values[name].pk for item in items if name in item.values})
            for start in range(0, len(keys), _AT_ONCE):
                yield from self.stored_records().filter(**{f"{fields[name].attribute}__in": keys[start : start + _AT_ONCE]})

    def current_for(self, items):
        return {(*key, 1 if self.last_counts else record.nth): record for key, record in self.numbered(self.stored_for(items))}

    def numbered(self, records):
        """(key, record) of records in the order they were entered, each with its `nth`."""
        fields, seen = self.sheet_fields(), Counter()
        for record in records:
            key = tuple(self.key_part(name, self.current_value(record, name, fields[name])) for name in self.told_apart)
            seen[key] += 1
            record.nth = seen[key]
            yield key, record

    def export_rows(self, queryset):
        found = self.numbered(self.stored_records())
        records = dict(found).values() if self.last_counts else [record for _key, record in found]
        wanted = set(queryset.values_list("pk", flat=True))
        return [record for record in records if record.pk in wanted]

    def check_items(self, plan):
        there = {item.key for item in plan.items}
        for item in plan.items:
            number = item.key[-1]
            before = (*item.key[:-1], number - 1)
            if item.outcome == NEW and number > 1 and before not in there and not self._stored_before(item, before):
                message = f"has no number {number - 1} before it, in the sheet or on file; number the rows of one day from 1"
                self._add_problem(plan, Problem(item.row, self.header("nth"), str(number), message))

    def _stored_before(self, item, before):
        return before in self.current_for([item])

    def check_one_of(self, plan, names):
        """A row is about exactly one of these records."""
        for item in plan.items:
            given = [name for name in names if name in item.values]
            if len(given) != 1:
                headers = [self.header(name) for name in names]
                listed = f"{', '.join(headers[:-1])} or {headers[-1]}"
                message = f"give one of {listed}" + (", not more than one" if given else "")
                self._add_problem(plan, Problem(item.row, self.header(given[-1] if given else names[0]), "", message))

    def store_items(self, items, actor, reason, plan):
        super().store_items(sorted(items, key=lambda item: item.key[-1]), actor, reason, plan)

    def save_row(self, values, item, actor, reason):
        values.pop("nth", None)
        if item.current:
            return self.correct_row(values, item, actor, reason)
        return self.add_row(values, actor, reason)

    def add_row(self, values, actor, reason):
        """Store a new record through its service."""
        raise NotImplementedError

    def correct_row(self, values, item, actor, reason):
        raise differs(item, self.changed_words)

    def merged(self, values, item):
        """What the stored record says, with what the row says in its place."""
        fields = self.sheet_fields()
        stored = {name: self.current_value(item.current, name, field) for name, field in fields.items() if name != "nth"}
        return {name: value for name, value in (stored | values).items() if value is not None}
