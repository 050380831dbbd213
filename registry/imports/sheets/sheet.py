"""The engine every sheet goes through, on screen and by command: read, check every row, show, store all or nothing.

A sheet class is a django-import-export Resource whose fields are `SheetField`s. The library's own loop is
replaced by one that checks all of a sheet before it writes (its row-by-row loop with a look-up and a save a
row is 20 times too slow for a census, and cannot see two rows of one sheet that contradict each other).
"""

import dataclasses

from django.db import models
from import_export import resources

from registry.imports.sheets import unlisted
from registry.imports.sheets.cells.cell import CellError, SheetField, bare
from registry.imports.sheets.cells.records import Ahead, RecordCell
from registry.imports.sheets.mapping import bind_visits
from registry.imports.sheets.plan import CHANGED, UNCHANGED, Item, Plan, Problem, SheetRefused
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.result import plan_result
from registry.imports.sheets.rows import rows_used
from registry.imports.sheets.storing import Storing
from registry.imports.sheets.table import TO_CORRECT
from registry.imports.sheets.text import cell_text, text_fault
from registry.services.shared.progress import counted


def comparable(value):
    """A value as it is compared: a record by its primary key."""
    if type(value) is str:
        return value
    if isinstance(value, models.Model):
        return value.pk
    if isinstance(value, Ahead):
        return value.code
    if isinstance(value, (list, tuple)):
        return sorted(comparable(part) for part in value)
    return value


class Sheet(Storing, resources.Resource):
    """One kind of sheet.

    Declare `kind` (the word of the command), `title`, `about` (one sentence), `model`, `key` (field names
    that identify a row) and the fields; `actions` says who may load it. Override `current_for`,
    `check_items` and `store_items` where a row is not one plain record.
    """

    kind = title = about = ""
    parent_fields = ()  # fields whose records a mapping may declare founders where they are not listed
    aside_refused = ""  # why wrong rows of this kind cannot be set aside
    action = "import.run"
    edit_action = ""
    model = None
    key = ()
    together = ""  # the field whose equal cells hold rows together: no rule looks at two rows of which they differ (`loads/parts.py`)
    reads_whole = frozenset()  # fields with which a rule does look at all rows of a file
    part_words = ""  # which part of a long file is being checked
    their_headers = {}  # {field name: header of the file that is being read}

    # -- what the columns are ------------------------------------------------------------------

    @classmethod
    def sheet_fields(cls):
        return {name: field for name, field in cls.fields.items() if isinstance(field, SheetField)}

    @classmethod
    def with_own_columns(cls):
        """The sheet with the columns that records of the programme add to it: read before a file is loaded, or all is downloaded."""
        return cls

    @classmethod
    def template_rows(cls):
        """Header and one example row of the downloadable template."""
        fields = cls.sheet_fields().values()
        return [field.column_name for field in fields], [field.example for field in fields]

    # -- reading -------------------------------------------------------------------------------

    def plan(self, dataset, spec=None, first_row=2, without=frozenset(), places=None):
        """Check every row of a dataset against the records, but for those `without` names by number. Nothing is written.

        With `places` only the rows there are checked, as a part of the file.
        """
        spec = spec or {}
        visits = self.bound(dataset.headers, spec)
        self.sources = visits[0][0]
        named = [{name: source.header for name, source in sources.items()} for sources, _filled in visits]
        self.their_headers = {name: header for name, header in named[0].items() if all(one.get(name) == header for one in named)}
        if places is None:
            numbered = enumerate(dataset[:], start=first_row)
        else:
            numbered = ((first_row + place, row) for place, row in zip(places, dataset.at(places), strict=True))
        rows = rows_used(numbered, dataset.headers, spec)
        if without:
            rows = [row for row in rows if row[0] not in without]
        options = ReadingOptions.from_spec(spec)
        founders = unlisted.UnlistedParents(self, spec, options)
        listed = self._codes_in_sheet(rows)
        options = dataclasses.replace(options, codes_in_sheet=listed | founders.codes(rows, listed))
        columns = {column for sources, _filled in visits for source in sources.values() for column in source.columns}
        taken = {dataset.headers[column] for column in columns} | {"", TO_CORRECT}
        plan = Plan(
            rows=len(dataset), mapped={name: source.header or "constant" for name, source in self.sources.items()},
            not_taken=[header for header in dataset.headers if header not in taken],
        )  # fmt: skip
        if spec.get("rows"):
            plan.used = len(rows)
            if places is None:
                plan.say_used()
        items = [item for sources, filled in visits for item in self._parse(plan, rows, options, sources, filled)]
        self._classify(plan, items + founders.items(plan))
        self.check_items(plan)
        return plan

    def bound(self, headers, spec):
        """What is read from which column, for each visit, as `bind_visits` gives it. Raises SheetError where the mapping does not fit the
        headers; no row is looked at."""
        self.refuse_sheet(headers, spec)
        fields = self.sheet_fields()
        visits = bind_visits(fields, headers, spec)
        missing_keys = [fields[name].column_name for name in self.key if name not in visits[0][0]]
        if missing_keys:
            raise SheetError(f"No column gives {' and '.join(missing_keys)}; without it rows cannot be told apart. Map it.")
        return visits

    def hold(self, names):
        """Before a file is stored in parts: lock the records that its parts would lock one after the other, in one order for all."""

    def refuse_sheet(self, headers, spec):
        """Raise SheetError when the sheet as a whole cannot mean what this kind needs."""

    def _codes_in_sheet(self, rows):
        if not any(isinstance(field.widget, RecordCell) and field.widget.same_sheet for field in self.sheet_fields().values()):
            return frozenset()
        source = self.sources[self.key[0]]
        return frozenset(cell_text(cell) for _number, row in rows if type(cell := cell_of(source, row)) is not CellError)

    def _parse(self, plan, rows, options, sources, filled):
        """Items of all rows that can be read; a row that cannot becomes a problem. Of a visit, rows count where a column is filled."""
        fields = self.sheet_fields()
        readers = [
            (name, source, source.column if source.copies_column else None, fields[name].widget.parser(options), {})
            for name, source in sources.items()
        ]
        items = []
        for number, row in counted(rows, f"Checking {self.title.lower()}{self.part_words}"):
            if filled and not any(cell_text(row[column]) for column in filled):
                continue
            values, wrong = {}, False
            for name, source, column, parse, seen in readers:
                cell = row[column] if column is not None else cell_of(source, row)
                # most cells of a column repeat; each different one is read once (and True is not 1)
                key = cell if type(cell) is str else (type(cell), cell)
                value = seen.get(key, _UNREAD)
                if value is _UNREAD:
                    value = seen[key] = cell if type(cell) is CellError else _read(cell, parse)
                if value is None:
                    continue
                if type(value) is CellError:
                    wrong = True
                    said = fields[name].widget.quoted(source.said(row))
                    self._add_problem(plan, Problem(number, source.header or fields[name].column_name, said, str(value)))
                else:
                    values[name] = value
            if values and not wrong:
                items.append(Item(number, (), values))
        return items

    @staticmethod
    def _add_problem(plan, problem):
        plan.refuse(problem)

    def _classify(self, plan, items):
        """Drop rows that say the same again, refuse rows that contradict each other, compare the rest with the records."""
        firsts, keys = {}, frozenset(self.key)
        for item in items:
            if not keys <= item.values.keys():
                blank = [self.header(name) for name in self.key if name not in item.values]
                self._add_problem(plan, Problem(item.row, blank[0], "", "is blank; without it rows cannot be told apart"))
                continue
            item.key = self.row_key(item)
            first = firsts.setdefault(item.key, item)
            if first is item:
                continue
            different = self.contradictions(first.values, item.values)
            if different:
                self._add_problem(plan, self._conflict(first, item, different))
            else:
                plan.repeated += 1
                plan.repeats[item.row] = first.row
        plan.items = list(firsts.values())
        current = self.current_for(plan.items)
        required = [name for name, field in self.sheet_fields().items() if field.required]
        for item in plan.items:
            item.current = current.get(item.key)
            if item.current is None:
                for name in required:
                    if name not in item.values and self.needs(item, name):
                        self._add_problem(plan, Problem(item.row, self.header(name), "", "is blank, and a new row needs it"))
                continue
            stored = self.current_values(item.current, item.values)
            item.changes = {name: (stored.get(name), item.values[name]) for name in self.differences(stored, item.values)}
            item.outcome = CHANGED if item.changes else UNCHANGED

    def needs(self, item, name):
        """Whether a new row needs a field that is required as a rule."""
        return True

    def row_key(self, item):
        """What tells a row from another: the values of the key fields."""
        return tuple([comparable(item.values[name]) for name in self.key])  # a list is made in less time than a generator, row by row

    def differences(self, before, after):
        """Names of the fields of `after` whose values differ from `before`."""
        return [name for name, value in after.items() if comparable(before.get(name)) != comparable(value)]

    def contradictions(self, first, later):
        """Names of the fields in which two rows with one key contradict each other."""
        return self.differences(first, later)

    def _conflict(self, first, item, different):
        name = different[0]
        return Problem(
            item.row, self.header(name), self.shown(name, item.values[name]),
            f"contradicts row {first.row}, which says '{self.shown(name, first.values.get(name))}' "
            f"for the same {self.key_words(item)}; remove the wrong one", (first.row,),
        )  # fmt: skip

    def key_words(self, item):
        return ", ".join(f"{self._named(name)} {self.words(name, item.values[name])}" for name in self.key)

    def _named(self, name):
        """A column within a sentence: our own name in small letters, theirs as they write it."""
        header, own = self.header(name), self.sheet_fields()[name].column_name
        return own.lower() if header == own else header

    def words(self, name, value):
        """A value as its cell would be written."""
        return value.code if isinstance(value, Ahead) else cell_text(self.sheet_fields()[name].widget.render(value))

    def shown(self, name, value):
        """A value as a page or a message shows it: its cell, or where that is long what it comes to."""
        return value.code if isinstance(value, Ahead) else self.sheet_fields()[name].widget.shown(value)

    def header(self, name):
        """What the file calls a column; our own name of it where the file has none, or another one for each visit."""
        return self.their_headers.get(name) or self.sheet_fields()[name].column_name

    # -- what the records say ----------------------------------------------------------------------

    def current_for(self, items):
        """{key: stored record} for the keys of these items."""
        names = [self.sheet_fields()[name].attribute for name in self.key]
        first = sorted({item.key[0] for item in items})
        records = {}
        for start in range(0, len(first), 900):
            for record in self.stored_records().filter(**{f"{names[0]}__in": first[start : start + 900]}):
                records[tuple(comparable(_get(record, name)) for name in names)] = record
        return records

    def stored_records(self):
        return self.model._default_manager.all()

    def current_values(self, record, names):
        """What the stored record says for these fields."""
        fields = self.sheet_fields()
        return {name: self.current_value(record, name, fields[name]) for name in names}

    def current_value(self, record, name, field):
        value = _get(record, field.attribute)
        if isinstance(value, models.Manager):
            return list(value.all())
        return None if value == "" else value

    def check_items(self, plan):
        """Rules that need several rows or the records; adds problems and warnings to the plan."""

    # -- the library's own entry ---------------------------------------------------------------

    def import_data(self, dataset, dry_run=False, raise_errors=False, user=None, **kwargs):
        """django-import-export's entry: the plan as the library's Result; stores it unless `dry_run`."""
        plan = self.plan(dataset, kwargs.get("spec"), kwargs.get("first_row", 2))
        try:
            self.store(plan, user, kwargs.get("reason", ""), trial=dry_run)
        except SheetRefused:
            if raise_errors:
                raise
        return plan_result(plan, dataset.headers)

    # -- writing -------------------------------------------------------------------------------

    def get_queryset(self):
        return self.stored_records()

    def get_export_order(self, selected_fields=None):
        return [name for name in self.sheet_fields() if selected_fields is None or name in selected_fields]

    def export_rows(self, queryset):
        """The stored rows behind a list of records."""
        return queryset


_UNREAD = object()


def cell_of(source, row):
    """The cell of a field in a row, or the CellError that a stated change refuses it with."""
    try:
        return source.cell(row)
    except CellError as error:
        return error


def _read(cell, parse):
    cell = bare(cell)
    if isinstance(cell, str) and (fault := text_fault(cell)):
        return CellError(fault)
    try:
        return None if cell is None else parse(cell)
    except CellError as error:
        return error


def _get(record, path):
    for name in path.replace("__", ".").split("."):
        record = getattr(record, name, None)
    return record
