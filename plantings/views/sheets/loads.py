"""Loads: the sheets that were loaded, what each stored, the rows still out, and withdrawing one."""

from django.db.models import Q
from django.http import Http404
from django.urls import reverse
from django.utils.functional import cached_property
from django.views.generic import View

from plantings.forms.sheets import LoadReasonForm
from plantings.imports.combined.parts import COMBINED
from plantings.imports.combined.second_sheets import SECOND_FILES
from plantings.imports.kinds import KINDS
from plantings.imports.withdrawing import load_hindrances, load_take_back
from plantings.views.sheets.load_sections import KINDS_IN_SHEET, ROWS_OUT, STAYING, WITHDRAWN, WITHDRAWN_ROWS, records_staying
from plantings.views.sheets.load_words import (
    RECORDS_SHOWN,
    address_or_none,
    cells_before,
    load_counts,
    load_state,
    load_title,
    mapping_text,
)
from plantings.views.sheets.sheets import MayLoad, SheetMixin
from registry.calc.shared.screen import amount_words
from registry.calc.sheets.key_ranges import keys_in
from registry.imports.loads.rest import rest_bytes
from registry.imports.sheets.reading_options import SheetError
from registry.models import Load
from registry.models.audit import stored_name
from registry.selectors.loads.loads import loads_listed, rows_still_out
from registry.selectors.loads.resting import made_models, way_back
from registry.services.loads.loads import rows_leave_out
from registry.views.shared.details import RecordDetailView
from registry.views.shared.downloads import known_format, sheet_response
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section, as_written
from registry.views.shared.tables import Column, Link

_HINDRANCES_SHOWN = 20


class LoadMixin(MayLoad):
    """A person sees the loads of the kinds they may load, and of sheets of several kinds those of which they may load every kind."""

    def scoped(self, model):
        rows = super().scoped(model)
        if model is not Load:
            return rows
        wanted = [kind for kind, sheet in KINDS.items() if self.may_load(sheet)]
        combined = Q(kind=COMBINED.kind)
        if others := [kind for kind in KINDS if kind not in wanted]:
            combined &= ~Q(counts__has_any_keys=others)
        return rows.filter(Q(kind__in=wanted) | combined)


class LoadListView(LoadMixin, RecordListView):
    model = Load
    title = "Loads"
    question = "Which sheets were loaded, when and by whom, and are rows still out?"
    read = staticmethod(loads_listed)
    empty = ("Nothing was loaded yet", "Each sheet that is saved is listed here, with what it stored.", None)
    others = (("Load a sheet", "import.run", "sheet_list"),)
    columns = (
        Column("Load", "pk", "right", url=Link("load_detail")),
        Column("File", "filename", url=Link("load_detail"), wide=True),
        Column("State", load_state, kind="state"),
        Column("Kind", load_title),
        Column("Stored", load_counts),
        Column("By", "entered_by", kind="soft"),
        Column("On", "entered_at", kind="date"),
    )


def _stored(page):
    """(record type, how many, its first records) of what a load made."""
    models = {stored_name(model): model for model in made_models()}
    return [
        (models[name]._meta.verbose_name_plural, sum(last - first + 1 for first, last in ranges), models[name], ranges)
        for name, ranges in page.object.stored.items()
    ]


def _first_records(page):
    """The first records that a load made, some of each type."""
    found, each = [], max(RECORDS_SHOWN // (len(page.stored) or 1), 1)
    for words, _count, model, ranges in page.stored:
        keys = [key for key, _place in zip(keys_in(ranges), range(each), strict=False)]
        found += [(words, record) for record in model._base_manager.filter(pk__in=keys).order_by("pk")]
    return found


class LoadDetailView(LoadMixin, RecordDetailView):
    model = Load
    question = "What did this sheet store, and are rows of it still out?"
    title = "Load {object.pk} · {object.filename}"
    related = ("upload", "entered_by")
    read = staticmethod(loads_listed)
    trace_code = ""
    state = property(lambda page: load_state(page.object))
    facts = (
        Fact("Kind", lambda page: load_title(page.object)),
        Fact("Loaded", "entered_at"),
        Fact("By", "entered_by"),
        Fact("Rows", lambda page: load_counts(page.object)),
        Fact("Reason for changes", "reason"),
        Fact("File", "filename", url=lambda page: reverse(page.original_route, args=[page.object.upload.key])),
        Fact("SHA-256 of the file", "sha256"),
        Fact("Withdrawn", "withdrawn.entered_at"),
        Fact("Withdrawn by", "withdrawn.entered_by"),
        Fact("Why it was withdrawn", "withdrawn.reason"),
    )
    actions = (
        Action("Send the corrected rest", "sheet_send", "import.run", when=lambda page: page.rows_out, key=lambda page: page.object.kind,
               query=lambda page: {"rest_of": page.object.pk}),
        *(
            Action(f"Rest to correct, {wanted.upper()}", "load_rest", "import.run", when=lambda page: page.rows_out,
                   key=lambda page, wanted=wanted: (page.object.pk, wanted))
            for wanted in ("csv", "xlsx")
        ),
        Action("Leave the rest out", "load_leave_out", "import.run", when=lambda page: page.rows_out),
        Action("Withdraw this load", "load_withdraw", "import.run", when=lambda page: not page.object.withdrawn),
    )  # fmt: skip
    sections = (
        ROWS_OUT,
        KINDS_IN_SHEET,
        Section(
            title="What it stored",
            rows=lambda page: page.stored,
            columns=(
                Column("Records", lambda kind: kind[0].capitalize()),
                Column("How many", lambda kind: kind[1], "right", kind="number"),
                Column("If the load is withdrawn, each", lambda kind: way_back(kind[2]), kind="soft"),
            ),
            unit="kinds of record",
            missing="new records",
        ),
        Section(
            title="The first of its records",
            rows=_first_records,
            columns=(
                Column("Record", lambda line: str(line[1]), url=lambda line: address_or_none(line[1])),
                Column("Kind", lambda line: line[0], kind="soft"),
            ),
            unit="records",
            note=lambda page, rows: f"{len(rows):,} of {count:,}." if len(rows) < (count := sum(line[1] for line in page.stored)) else "",
            when=lambda page: not page.object.withdrawn,
        ),
        STAYING,
        WITHDRAWN,
        WITHDRAWN_ROWS,
        Section(
            title="Records it changed",
            rows=lambda page: page.changed,
            columns=(
                Column("Record", lambda line: str(line[0]), url=lambda line: address_or_none(line[0])),
                Column("Before the load", lambda line: "; ".join(f"{name}: {cell or 'blank'}" for name, cell in line[1]), wide=True),
            ),
            unit="records",
            most=RECORDS_SHOWN,
        ),
        Section(
            title="Rows settled",
            rows=lambda page: page.object.settled.select_related("by", "entered_by"),
            columns=(
                Column("Rows", "count", "right", kind="number"),
                Column("How", lambda one: "came with a load" if one.by else "left out"),
                Column("Load", "by.pk", url=lambda one: reverse("load_detail", args=[one.by_id]) if one.by_id else None),
                Column("Reason", "reason", wide=True),
                Column("By", "entered_by", kind="soft"),
                Column("On", "entered_at", kind="date"),
            ),
        ),
        as_written("Mapping", lambda page: mapping_text(page.mapping) if page.mapping else ""),
    )

    @property
    def stored(self):
        return _stored(self)

    staying = cached_property(lambda page: records_staying(page.object))

    @property
    def kinds(self):
        counts = self.object.counts_by_kind
        return [(kind, counts[kind]) for kind in KINDS if kind in counts]

    @property
    def original_route(self):
        return "combined_original" if self.object.kind == COMBINED.kind else "sheet_original"

    @property
    def mapping(self):
        return {name: value for name, value in self.object.spec.items() if name not in ("set", SECOND_FILES)}

    @property
    def rows_out(self):
        if not hasattr(self, "_rows_out"):
            self._rows_out = rows_still_out(self.object)
        return self._rows_out

    @property
    def changed(self):
        by_kind = self.object.before_by_kind
        return [line for kind in KINDS if kind in by_kind for line in cells_before(KINDS[kind], by_kind[kind])]


class LoadRestView(LoadMixin, View):
    """The rows of a load that are still out, as they were sent, with what to correct in each."""

    def get(self, request, pk, wanted):
        load = self.scoped(Load).filter(pk=pk).select_related("upload").first()
        out = rows_still_out(load) if load else []
        if not out:
            raise Http404("No row of this load is out.")
        name = f"{load.filename.rpartition('.')[0] or load.filename}-rest"
        try:
            content = rest_bytes(load, SheetMixin.content(load.upload), out, known_format(wanted))
        except SheetError as error:
            raise Http404(str(error)) from error
        return sheet_response(content, name, wanted)


class LoadLeaveOutView(LoadMixin, RecordActionView):
    model = Load
    form_class = LoadReasonForm
    service = rows_leave_out
    title = "Leave the rest of load {object.pk} out"
    question = "Why will these rows not come?"
    text = property(lambda page: f"{amount_words(len(rows_still_out(page.object)), 'rows')} of {page.object.filename} will no longer be "
                                 "listed as out. The file stays on file, and so does your reason.")  # fmt: skip
    submit_label = "Leave the rest out"
    success_message = "The rest is left out."


class LoadWithdrawView(LoadMixin, RecordActionView):
    model = Load
    form_class = LoadReasonForm
    service = load_take_back
    confirm = True
    title = "Withdraw load {object.pk}"
    question = "Take back everything this sheet stored?"
    submit_label = "Withdraw the load"
    success_message = "Load withdrawn. What it had stored is taken back."
    text = (
        "Ledger entries get their opposite, census records are rejected or corrected back, changed records get their earlier values, and "
        "records that nothing rests on are removed; the audit trail keeps all they said. A lot with ledger entries stays, closed, with a "
        "balance of 0. Trees, plots and rounds that came with their census are listed on the page of the load afterwards, and are counted "
        "nowhere. The file stays. All is taken back, or nothing."
    )

    @property
    def cautions(self):
        if self.object.withdrawn:
            return []
        found = load_hindrances(self.object)
        if not found:
            return []
        lines = [hindrance.words for hindrance in found[:_HINDRANCES_SHOWN]]
        more = f"The first {len(lines):,} of {len(found):,} reasons:" if len(found) > len(lines) else ""
        return [{"title": "It cannot be withdrawn while something rests on it", "text": more, "lines": lines}]
