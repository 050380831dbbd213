"""Columns for the identifiers that a phone gives its records, so that a record that comes as a file and is sent as well is stored once."""

from uuid import UUID

from plantings.calc.phone.clock import note_typed
from plantings.calc.phone.reading import sent_uuid
from registry.calc.shared.part_dates import days_apart
from registry.calc.sheets.key_ranges import in_ranges
from registry.imports.sheets.cells.cell import Cell, CellError, SheetField
from registry.imports.sheets.plan import UNCHANGED, Problem
from registry.imports.sheets.text import cell_text
from registry.models.shared.among import Keys
from registry.selectors.loads.loads import withdrawn_ranges

__all__ = ["Identified", "corrects_column", "identifier_column"]

_CHUNK = 900
_DIFFERS = "differs from the record on file with this identifier, which says '{}'; to correct that record, clear its identifier cells"
_WITHDRAWN = "is of a record that was withdrawn with its load; clear the identifier cells of this row, and it is stored as a new record"
_REJECTED = (
    "is on file with the same values and was rejected: this row stores nothing, and the record stays rejected. If somebody looked again, "
    "{}write so in the note and load the row again; without another record the place stays open"
)
_CORRECTED_MEANWHILE = (
    "was corrected by another record meanwhile, so this row is stored as a second record beside that one. Compare both in the review of "
    "the round and reject one; until then the later one counts"
)
_CORRECTED_ALREADY = "is corrected by another record already; correct the newest one"
_LEAVE = "written by Mastbook, leave it as it is. Blank for rows typed by hand; downloads of records leave it out."
_DAY_STAYS = "is the day in the file; the record on file with this identifier has {}, which the server worked out, and does not change"


class IdentifierCell(Cell):
    """The identifier of a record, as Mastbook wrote it."""

    is_text = True
    # A row with an identifier is that very record and corrects nothing; in a download it would block the correction of a row.
    is_exported = False

    def parser(self, options):
        def parse(value):
            found = sent_uuid(cell_text(value).lower())
            if found is None:
                raise CellError("is not an identifier that Mastbook wrote; copy it again from the saved file, or clear the cell")
            return found

        return parse

    def render(self, value, obj=None, **kwargs):
        return str(value) if isinstance(value, UUID) else ""


def identifier_column():
    return SheetField("Record identifier", "uuid", IdentifierCell(), help=f"Of a record saved by a phone: {_LEAVE}")


def corrects_column():
    return SheetField("Corrects record", "supersedes__uuid", IdentifierCell(), help=f"The identifier of the record it corrects: {_LEAVE}")


class Identified:
    """A sheet whose rows may carry the identifier of a record. Such a row is that record: it is new, or on file with the same values.

    The sheet has the columns `uuid` and `corrects`, and says in `recorded` which cells a record holds. `is_reviewed` says whether its
    records are reviewed: one that corrects what somebody else corrected meanwhile is then stored beside it, and a review decides.
    """

    is_reviewed = True

    def row_key(self, item):
        key, uuid = super().row_key(item), item.values.get("uuid")
        return (*key, uuid) if uuid else key

    def current_for(self, items):
        found = self.current_by_place(items)
        stored = self.records_with(item.values["uuid"] for item in items if "uuid" in item.values)
        for item in items:
            if uuid := item.values.get("uuid"):
                found.pop(item.key, None)
                if uuid in stored:
                    found[item.key] = stored[uuid]
        return found

    def current_by_place(self, items):
        """{key: stored record} as found by the place of a row."""
        return super().current_for(items)

    def records_with(self, uuids):
        """{identifier: its stored record}, be it corrected since or not."""
        uuids, found = list(uuids), {}
        for start in range(0, len(uuids), _CHUNK):
            records = self.model._default_manager.filter(uuid__in=uuids[start : start + _CHUNK])
            found |= {record.uuid: record for record in records.select_related("supersedes", *self.place_path)}
        return found

    def _classify(self, plan, items):
        super()._classify(plan, self._told_apart(plan, items))
        withdrawn = self._withdrawn(plan.items)
        self.corrected_by = self._corrections([item.values["corrects"] for item in plan.items if "corrects" in item.values])
        for item in plan.items:
            if "uuid" not in item.values:
                if "corrects" in item.values:
                    message = "is given without a record identifier; clear it, or give both"
                    self._refuse_cell(plan, item, "corrects", message)
            elif item.current and item.current.pk in withdrawn:
                item.outcome, item.changes = UNCHANGED, {}
                self._refuse_cell(plan, item, "uuid", _WITHDRAWN)
            elif item.current:
                self._compare(plan, item)
        self._check_corrections(plan)
        if self.is_reviewed:
            self._warn_of_rejected(plan)

    def _corrections(self, uuids):
        """{identifier of a record on file: that of the record on file that corrects it}."""
        records = self.records_with(uuids).values()
        found = self.model._default_manager.filter(supersedes__in=records) if records else self.model._default_manager.none()
        return dict(found.values_list("supersedes__uuid", "uuid"))

    def _warn_of_rejected(self, plan):
        """Say of which rows the same record is on file and was rejected: they store nothing."""
        same = {item.current.pk: item for item in plan.items if item.outcome == UNCHANGED and item.row not in plan.wrong_rows}
        rejected = self.model.objects.rejected().filter(pk__among=Keys(same)).values_list("pk", flat=True) if same else ()
        for item in sorted((same[key] for key in rejected), key=lambda item: item.row):
            message = _REJECTED.format("clear the identifier cells, " if "uuid" in item.values else "")
            name = self.key[-1]
            plan.warnings.append(Problem(item.row, self.header(name), self.words(name, item.values[name]), message))

    def _withdrawn(self, items):
        """The keys of the records on file with these identifiers that went back with their load and count nowhere."""
        known = {item.current.pk for item in items if "uuid" in item.values and item.current}
        ranges = withdrawn_ranges(self.model) if known else []
        keys = {key for key in known if in_ranges(ranges, key)}
        return keys - set(self.model.objects.counting().filter(pk__among=Keys(keys)).values_list("pk", flat=True)) if keys else keys

    def _told_apart(self, plan, items):
        """The rows without those whose identifier an earlier row has."""
        rows, kept = {}, []
        for item in items:
            uuid = item.values.get("uuid")
            if uuid and rows.setdefault(uuid, item.row) != item.row:
                self._refuse_cell(plan, item, "uuid", f"is in row {rows[uuid]} already; remove one of the two rows", (rows[uuid],))
            else:
                kept.append(item)
        return kept

    def _refuse_cell(self, plan, item, name, message, tied=()):
        self._add_problem(plan, Problem(item.row, self.header(name), self.words(name, item.values[name]), message, tied))

    def _compare(self, plan, item):
        """A row whose identifier is on file: unchanged, or refused where it says anything else."""
        item.outcome, item.changes = UNCHANGED, {}
        for name, said in self._said(item.current, item.values).items():
            given = item.values[name]
            if _is_same(name, given, said) or (name == "corrects" and said is None and self._is_beside(item)):
                continue
            if name == "observed_on" and _is_worked_out(given, item.current):
                message = _DAY_STAYS.format(said.isoformat())
                plan.warnings.append(Problem(item.row, self.header(name), self.words(name, given), message))
            else:
                self._refuse_cell(plan, item, name, _DIFFERS.format("" if said is None else self.words(name, said)))

    def _is_beside(self, item):
        """Whether somebody else corrected the record on file that a row corrects, so that the row is a second record."""
        return self.is_reviewed and self.corrected_by.get(item.values["corrects"], item.values["uuid"]) != item.values["uuid"]

    def _said(self, record, values):
        """What a stored record says in the cells that a row fills."""
        fields = self.sheet_fields()
        place = [name for name in (*self.key, "corrects") if name in values]
        said = {name: self.current_value(record, name, fields[name]) for name in place}
        return said | self.current_values(record, [name for name in self.recorded if name in values])

    def _check_corrections(self, plan):
        """Each correction is of one record of its place, on file or in the sheet, that nothing else corrects."""
        rows = {item.values["uuid"]: item for item in plan.items if "uuid" in item.values}
        new = [item for item in rows.values() if "corrects" in item.values and not item.current]
        stored = self.records_with(item.values["corrects"] for item in new)
        done = set()
        for item in new:
            corrected = item.values["corrects"]
            if corrected not in stored and corrected not in rows:
                self._refuse_cell(plan, item, "corrects", "is neither on file nor in this sheet; load the sheet with that record first")
            elif not self._is_of_place(item, stored.get(corrected), rows.get(corrected)):
                self._refuse_cell(plan, item, "corrects", "is a record of another place or round; clear both identifier cells")
            elif self._is_beside(item):
                plan.warnings.append(Problem(item.row, self.header("corrects"), str(corrected), _CORRECTED_MEANWHILE))
                del item.values["corrects"]
            elif corrected in done or corrected in self.corrected_by:
                self._refuse_cell(plan, item, "corrects", _CORRECTED_ALREADY)
            done.add(corrected)
        new = [item for item in new if "corrects" in item.values]
        self.waves = {}
        waiting = new
        while ready := [item for item in waiting if item.values["corrects"] in stored or self._wave_of(rows, item) is not None]:
            for item in ready:
                self.waves[item.values["uuid"]] = 0 if item.values["corrects"] in stored else self._wave_of(rows, item) + 1
            waiting = [item for item in waiting if item.values["uuid"] not in self.waves]
        for item in waiting:
            if item.row not in plan.wrong_rows:
                self._refuse_cell(plan, item, "corrects", "corrects a record that corrects this one; clear one of the two cells")

    def _wave_of(self, rows, item):
        """When the row that another one corrects is stored: 0 first; None where that is not known yet."""
        corrected = rows.get(item.values["corrects"])
        if corrected is None:
            return None
        return self.waves.get(corrected.values["uuid"], None if "corrects" in corrected.values else 0)

    def _is_of_place(self, item, record, row):
        if record is None:
            return item.key[: len(self.key)] == row.key[: len(self.key)]
        said = self._said(record, {name: item.values[name] for name in self.key})
        return all(_is_same(name, item.values[name], said[name]) for name in self.key)

    def in_order(self, items):
        """The rows to store in lists, a correction in a later list than the row of this sheet that it corrects."""
        waves = {}
        for item in items:
            waves.setdefault(self.waves.get(item.values.get("uuid"), 0), []).append(item)
        return [waves[number] for number in sorted(waves)]


def _is_same(name, given, said):
    """Whether a record says what a cell does; a note without what was added about the clock of the phone."""
    if name == "note":
        return note_typed(given) == note_typed(said or "")
    return given == said


def _is_worked_out(day, record):
    """Whether a day may differ because the server worked out that of the record: beyond midnight, or from a phone whose clock was wrong."""
    return days_apart(day, record.observed_on) <= 1 or note_typed(record.note) != record.note
