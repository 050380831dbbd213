"""Sheet of the census: observations of tagged trees."""

from collections import defaultdict, namedtuple
from dataclasses import replace

from django.db.models import Case, Exists, OuterRef, When

from plantings import choices
from plantings.calc.arrival.tags import Place, TagRead, tag_findings
from plantings.calc.census.codes import NOT_VISITED, UNSEEN
from plantings.calc.census.measurements import ERROR, FIELDS
from plantings.calc.census.own_measurements import row_values
from plantings.calc.census.rules import NOTE_LENGTH_MAX
from plantings.choices import Arrival, ReviewState
from plantings.imports.identifiers import Identified, corrects_column, identifier_column
from plantings.imports.own_columns import OwnColumns, measured_columns, own_cell
from plantings.models import CensusRound, Observation, Planting, Tree, TreeTag
from plantings.selectors.census.limits import check_limits
from plantings.selectors.census.reviews import is_accepted
from plantings.services.arrival.sorting import CORRECTED
from plantings.services.census.checks import row_checks
from plantings.services.census.observations import CensusRefused, CensusRow, observations_record
from registry.calc.sheets.key_ranges import in_ranges
from registry.imports.sheets.append_only_sheets import AGAIN
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import PartDateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell, YesNoCell
from registry.imports.sheets.plan import CHANGED, UNCHANGED, Problem
from registry.imports.sheets.sheet import Sheet
from registry.models.shared.among import Keys
from registry.selectors.loads.loads import withdrawn_ranges

# The cells of a row that a record holds; `_Stored` is a stored record in the same order.
_RECORDED = ("status", "observed_on", "cause", *FIELDS, "observer", "note")
_ARE_RECORDED = frozenset(_RECORDED)
_HAS_RECORDS = Exists(Observation.objects.filter(round=OuterRef("pk")))
_Stored = namedtuple("_Stored", ("pk", *_RECORDED, "own_values"))
# What a correction to this status does not take over from the record it corrects, unless the row says it itself.
_NOT_TAKEN_OVER = dict.fromkeys(UNSEEN, ("cause", *FIELDS, "own_values"))


class _PlaceAndStatus(Sheet):
    """The first columns of the sheet: which tree, and its status."""

    planting = SheetField("Planting", "round__planting", RecordCell(Planting), required=True, example="ST-04-2020")
    round = SheetField("Season", "round__label", TextCell(40), required=True, example="2020 autumn")
    tag = SheetField("Tag", "tree__tag", TextCell(40), required=True, example="0132")
    status = SheetField("Status", "status", ChoiceCell(choices.census_statuses), required=True, example="A")
    observed_on = SheetField("Observed on", "observed_on", PartDateCell(), required=True, example="2020-09-12")
    cause = SheetField("Cause of death or reason of removal", "cause", ChoiceCell(choices.causes), example="")


class _OwnField(SheetField):
    """A column for a measurement of the programme's own, whose value is not in a column of the record."""

    def get_value(self, record):
        return record.own_values.get(self.attribute)


_Measured = type(Sheet)("_Measured", (_PlaceAndStatus,), measured_columns())


class CensusSheet(Identified, OwnColumns, _Measured):
    kind = "census"
    title = "Census"
    about = (
        "One row for each tree and round. A row that differs from the record on file becomes a correction with your reason; the "
        "earlier record stays on file. What a second crew saw is a second record, saved beside the first until somebody decides "
        "which is right. Rows with “yes” under “Accepted” need no review; all others are received and wait for one. Block, row and "
        "position are compared with the register and not stored. A row of a tree that was not visited needs no day: it is stored with the "
        "first day of its round, so that any record of a visit in that round counts before it."
    )
    edit_action = "census.enter"
    model = Observation
    place_path = ("round__planting", "tree")
    key = ("planting", "round", "tag")
    together, reads_whole = "planting", frozenset({"uuid", "corrects"})  # an identifier may be in rows of two plantings
    trial_store = False  # every rule is checked on the rows themselves; a trial of 100,000 rows would hold the database

    observer = SheetField("Observer", "observer", TextCell(120), example="R. Counter")
    note = SheetField("Note", "note", TextCell(NOTE_LENGTH_MAX), example="")
    # where the tag was read: compared with the register, and not stored
    block = SheetField("Block", "tree__block__code", TextCell(40), example="1")
    row = SheetField("Row", "tree__row", NumberCell(1, whole=True), example=4)
    position = SheetField("Position", "tree__position", NumberCell(1, whole=True), example=7)
    accepted = SheetField("Accepted (yes/no)", "accepted", YesNoCell(), example="")
    second_record = SheetField("Second record (yes/no)", "second_record", YesNoCell(), example="")
    uuid, corrects = identifier_column(), corrects_column()

    @classmethod
    def own_column(cls, item):
        return _OwnField(item.sheet_header, item.field, own_cell(item))

    def needs(self, item, name):
        return name != "observed_on" or item.values.get("status") != NOT_VISITED

    def hold(self, names):
        list(Planting.objects.select_for_update().filter(code__among=Keys(names)).order_by("pk").values_list("pk"))

    @property
    def recorded(self):
        """The cells of a row that a record holds."""
        return (*_RECORDED, *(item.field for item in self.own))

    def stored_records(self):
        return Observation.objects.current().select_related("round__planting", "tree")

    def export_rows(self, queryset):
        earlier = Observation.objects.current().filter(round=OuterRef("round"), tree=OuterRef("tree"), pk__lt=OuterRef("pk"))
        return queryset.select_related("round__planting", "tree__block").with_review().annotate(second_record=Exists(earlier))

    def dehydrate_second_record(self, record):
        return "yes" if record.second_record else ""

    def dehydrate_accepted(self, record):
        return "yes" if is_accepted(record) else ""

    def row_key(self, item):
        """Two crews may each have a row for one tree: the observer of a second record is part of its key."""
        key = super().row_key(item)
        return (*key, item.values.get("observer", "")) if item.values.get("second_record") else key

    def current_by_place(self, items):
        plantings = {item.key[0]: item.values["planting"] for item in items}
        rounds = CensusRound.objects.filter(planting__in=plantings).select_related("protocol")
        self.rounds = {(row.planting_id, row.label): row for row in rounds.annotate(has_records=_HAS_RECORDS)}
        self.trees = {
            (planting, tag): (pk, planted_on or plantings[planting].planted_on)
            for planting, tags in _by_first((item.key[0], item.key[2]) for item in items)
            for pk, tag, planted_on in Tree.objects.filter(planting=planting, tag__among=tags).values_list("pk", "tag", "planted_on")
        }
        has_records = {row.pk for row in self.rounds.values() if row.has_records}
        if not has_records:
            return {}
        stored, places = defaultdict(list), {item.key[:3]: self._place(item) for item in items}
        withdrawn = withdrawn_ranges(Observation)
        for round_pk, trees in _by_first(place for place in places.values() if place and place[0] in has_records):
            # a rejected record is compared with too, after those that are not: the same sheet again stores nothing, unless it was withdrawn
            records = Observation.objects.unsuperseded().filter(round=round_pk, tree__among=trees).with_review()
            records = records.order_by(Case(When(review_state=ReviewState.REJECTED, then=0), default=1), "observed_on", "pk")
            for tree, state, *rest in records.values_list("tree_id", "review_state", *_Stored._fields):
                if state != ReviewState.REJECTED or not in_ranges(withdrawn, rest[0]):
                    stored[round_pk, tree].append(_Stored(*rest))
        return {item.key: self._spoken_of(stored[place], item) for item in items if (place := places[item.key[:3]]) in stored}

    def _place(self, item):
        """(round pk, tree pk) of a row; None where the round or the tree is unknown."""
        planting, label, tag = item.key[:3]
        census_round, tree = self.rounds.get((planting, label)), self.trees.get((planting, tag))
        return (census_round.pk, tree[0]) if census_round and tree else None

    @staticmethod
    def _spoken_of(records, item):
        """The stored record a row is about: its own observer's; otherwise the newest, but a second record is then a new one."""
        own = [record for record in records if record.observer == item.values.get("observer")]
        if own:
            return own[-1]
        return None if item.values.get("second_record") else records[-1]

    def current_values(self, record, names):
        stored = {name: getattr(record, name) for name in names if name in _RECORDED}
        stored |= {item.field: record.own_values.get(item.field) for item in self.own if item.field in names}
        return {name: None if value == "" else value for name, value in stored.items()}

    def differences(self, before, after):
        return [name for name in after if name in self.recorded and before.get(name) != after[name]]

    def contradictions(self, first, later):
        """Also the place, which is not stored: of a tag that was read at two places, one row is about another tree."""
        places = [name for name in ("block", "row", "position") if name in first and name in later and first[name] != later[name]]
        return [*self.differences(first, later), *places]

    def check_items(self, plan):
        self.made, self.limits, self.checks = {}, check_limits(), {}
        said = self._tag_findings(plan.items)
        for item in plan.items:
            planting, label, tag = item.key[:3]
            census_round, tree = self.rounds.get((planting, label)), self.trees.get((planting, tag))
            if item.values.get("second_record") and "observer" not in item.values:
                message = "is blank, and a second record needs its own observer"
                self._add_problem(plan, Problem(item.row, self.header("observer"), "", message))
            elif census_round is None:
                message = f"is not a round of planting {item.values['planting'].code}; load or add the round first"
                self._add_problem(plan, Problem(item.row, self.header("round"), label, message))
            else:
                for finding in said.get(item.row, ()):
                    self._add_finding(plan, item, finding, "")
                if tree and ("status" in item.values or item.current):
                    self._check_row(plan, item, census_round, tree)

    def _add_finding(self, plan, item, finding, value):
        header = self.header(finding.field) if finding.field in self.sheet_fields() else ""
        problem = Problem(item.row, header, value, finding.message)
        if finding.severity == ERROR:
            self._add_problem(plan, problem)
        elif item.outcome != UNCHANGED:
            plan.warnings.append(problem)

    def _tag_findings(self, items):
        """{row: findings} of tags that are not in their planting, or disagree with the place where they were read."""
        by_round, found = defaultdict(list), {}
        for item in items:
            by_round[item.key[:2]].append(item)
        for (planting, _label), rows in by_round.items():
            read = [TagRead(item.key[2], self._place_read(item)) for item in rows]
            unknown = any((planting, line.tag) not in self.trees for line in read)
            register = _register(planting) if unknown or any(line.place for line in read) else dict.fromkeys(line.tag for line in read)
            old = {}
            if unknown:
                old = dict(TreeTag.objects.filter(tree__planting=planting).order_by("until_on").values_list("tag", "tree__tag"))
            found |= {rows[number].row: findings for number, findings in tag_findings(read, register, old).items()}
        return found

    @staticmethod
    def _place_read(item):
        values = item.values
        return Place(values.get("block", ""), values["row"], values["position"]) if {"row", "position"} <= values.keys() else None

    def _check_row(self, plan, item, census_round, tree):
        values = {name: value for name, value in item.values.items() if name in _ARE_RECORDED}
        own = row_values(self.own, item.values)
        if item.current:
            lost = _NOT_TAKEN_OVER.get(item.values.get("status"), ("cause",)) if "status" in item.changes else ()
            values = {name: getattr(item.current, name) for name in _RECORDED if name not in lost} | values
            own = {"own_values": ({} if "own_values" in lost else item.current.own_values) | own["own_values"]}
            if item.outcome == CHANGED:
                values["supersedes_id"] = item.current.pk
        if "observed_on" not in values:
            if values.get("status") != NOT_VISITED:
                return  # already listed as blank
            values["observed_on"] = census_round.opens_on
        round_pk = census_round.id
        row = CensusRow(round_pk, tree[0], uuid=None, **values, **own)
        if round_pk not in self.checks:
            self.checks[round_pk] = row_checks(census_round, self.limits)
        for finding in self.checks[round_pk].findings(row, tree[1]):
            value = item.values.get(finding.field)
            self._add_finding(plan, item, finding, "" if value is None else self.shown(finding.field, value))
        self.made[item.key] = row

    def store_items(self, items, actor, reason, plan):
        for wave in self.in_order(items):
            if not plan.problems:
                self._store_wave(wave, actor, reason, plan)

    def _store_wave(self, items, actor, reason, plan):
        corrected = self.records_with(item.values["corrects"] for item in items if "corrects" in item.values)
        rows = []
        for item in items:
            row = self.made[item.key]
            if "uuid" in item.values:
                row = replace(row, uuid=item.values["uuid"])
            if "corrects" in item.values:
                row = replace(row, supersedes_id=corrected[item.values["corrects"]].pk, reason=CORRECTED)
            if item.values.get("accepted") and actor.may("observation.review"):
                row = replace(row, arrived_as=Arrival.ACCEPTED.value)
            if item.current:
                row = replace(row, reason=reason or AGAIN)
            rows.append(row)
        try:
            observations_record(actor=actor, rows=rows)
        except CensusRefused as refused:
            for number, findings in refused.problems.items():
                self._add_problem(plan, Problem(items[number].row, "", "", findings[0].message))


def _register(planting):
    """{tag: its Place, or None} of all trees of a planting."""
    trees = Tree.objects.filter(planting=planting).values_list("tag", "block__code", "row", "position")
    return {tag: Place(block or "", *place) if None not in place else None for tag, block, *place in trees}


def _by_first(pairs):
    """(first, Keys of the seconds) of pairs: a sheet reads the trees it names, not all of their plantings."""
    seconds = defaultdict(set)
    for first, second in pairs:
        seconds[first].add(second)
    return [(first, Keys(found)) for first, found in seconds.items()]
