"""Incidents: entered whatever the papers say, with the clocks of every paper they affect, and who was told."""

from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.functional import cached_property

from registry.calc.shared.record_keys import is_record_key
from registry.forms.duties.duties import IncidentCloseForm, IncidentFilters, IncidentForm, IncidentNoticeCorrectForm, IncidentNoticeForm
from registry.models import Authorization, Incident, IncidentNotice, ReportingClock
from registry.selectors.duties.duty_line import Duty as Line
from registry.selectors.duties.incidents import (
    clock_line,
    clock_status,
    incident_clocks,
    incident_zone,
    limit_words,
    with_clocks,
    zoned_words,
)
from registry.services.duties.incidents import incident_close, incident_notice_enter, incident_save
from registry.views.duties.words import DUTY_LISTS, clock_words
from registry.views.permits.stored_file import StoredFileView
from registry.views.shared.addresses import link
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView, RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section, as_written
from registry.views.shared.tables import Column, Link

INCIDENT_CAUTION = {
    "title": "Tell the authority yourself",
    "text": "Mastbook notifies no authority. Deadlines here come from what was typed from the paper: check with the local authority "
    "how it counts, and call early.",
}


def clocks_words(states):
    """'2 of 3 not told, 1 overdue'."""
    running = [state for state in states if state.is_running]
    overdue = sum(state.late_by is not None for state in running)
    if not states:
        return "no clock"
    return f"{len(running)} of {len(states)} not told{f', {overdue} overdue' if overdue else ''}" if running else "all told"


class IncidentListView(RecordListView):
    model = Incident
    action = "incident.view"
    question = "What went wrong, and was everyone told in time?"
    filter_form = IncidentFilters
    others = DUTY_LISTS
    add = ("Report an incident", "incident.enter", "incident_add")
    read = staticmethod(with_clocks)
    empty = ("No incidents yet", "Seedlings outside the plot, flowers seen too late, stolen tags, fire: enter what you find.", None)

    @property
    def columns(self):
        return (
            Column("Incident", "code", kind="code", url=Link("incident_detail")),
            Column("In a few words", "title", wide=True),
            Column("Discovered", lambda incident: zoned_words(incident.found_at, incident)),
            Column("Papers", lambda incident: ", ".join(paper.code for paper in incident.authorizations.all())),
            Column("Clocks", lambda incident: clocks_words(self.states(incident))),
            Column("State", lambda incident: "closed" if incident.closed_on else "open", kind="state"),
        )

    now = cached_property(lambda page: timezone.now())

    def states(self, incident):
        return incident_clocks(incident, self.now)

    def row_mark(self, incident):
        running = [state for state in self.states(incident) if state.is_running]
        if any(state.late_by is not None for state in running):
            return "late"
        return "soon" if running else "soft" if incident.closed_on else ""


def _newer(notice):
    return getattr(notice, "superseded_by", None)


def _correction_words(notice):
    return f"corrected: {_newer(notice).reason}" if _newer(notice) else "correct it"


CLOCK_COLUMNS = (
    Column("Tell by", limit_words),
    Column("What", "clock.title", wide=True),
    Column("Whom", "clock.tell"),
    Column("Paper", "paper.code", kind="code"),
    Column("Within", lambda state: clock_words(state.clock)),
    Column("Status", clock_status, kind="state"),
)


def _notice_columns(page, notices):
    def correct_url(notice):
        return None if _newer(notice) else link(page.user, "incident.enter", "incident_correct", notice.pk)

    def file_url(notice):
        return link(page.user, "document.view", "incident_file", notice.pk) if notice.file else None

    return (
        Column("Told at", lambda notice: zoned_words(notice.told_at, notice.incident)),
        Column("Who", "told_whom"),
        Column("How", "how"),
        Column("By", "told_by"),
        Column("For", lambda notice: notice.clock.title if notice.clock else "no clock"),
        Column("What was said", "text", wide=True),
        Column("Correction", _correction_words, url=correct_url),
        Column("File", "file.filename", url=file_url),
    )


TELL = Action("Enter who was told", "incident_notice", "incident.enter")


class IncidentDetailView(RecordDetailView):
    model = Incident
    action = "incident.view"
    question = "What was found, and who must be told by when?"
    related = ("entered_by",)
    read = staticmethod(lambda incidents: with_clocks(incidents).prefetch_related("lots"))
    where = "place"
    title = "{object.title}"
    trace_code = ""
    cautions = (INCIDENT_CAUTION,)
    state = property(lambda page: "closed" if page.object.closed_on else "open")
    facts = (
        Fact("Discovered", lambda page: zoned_words(page.object.found_at, page.object)),
        Fact("Its clocks run in", lambda page: str(incident_zone(page.object))),
        Fact("Discovered by", "found_by"),
        Fact("Place", "place"),
        Fact("Site", "site_code"),
        Fact("What was done about it", "done_about_it"),
        Fact("Entered", lambda page: f"{zoned_words(page.object.entered_at)}, by {page.object.entered_by or 'taken over'}"),
    )
    actions = (
        TELL,
        Action("Change the incident", "incident_edit", "incident.enter"),
        Action("Close it", "incident_close", "incident.enter", when=lambda page: page.object.closed_on is None),
    )
    sections = (
        as_written("What was found", "what"),
        Section(
            title="Clocks",
            unit="clocks",
            rows=lambda page: page.states,
            columns=CLOCK_COLUMNS,
            mark=lambda state: "late" if state.late_by is not None else "soon" if state.is_running else "",
        ),
        Section(
            title="Who was told",
            unit="notices",
            # read again: what the incident has in memory leaves the corrected ones out
            rows=lambda page: IncidentNotice.objects.filter(incident=page.object).select_related("clock", "file", "superseded_by"),
            columns=_notice_columns,
            missing="notices of who was told",
            add=TELL,
        ),
        Section(
            title="Papers it affects",
            unit="papers",
            rows=lambda page: page.object.authorizations.all(),
            columns=(
                Column("Paper", "code", kind="code", url=Link("authorization_duties", may="authorization.view")),
                Column("Title", "title", wide=True),
            ),
            missing="papers it affects",
            add=Action("Change the incident", "incident_edit", "incident.enter"),
        ),
        Section(
            title="Lots it affects",
            unit="lots",
            rows=lambda page: page.object.lots.all(),
            columns=(Column("Lot", "code", kind="code", url=Link("lot_detail", may="lot.view")),),
        ),
    )

    states = cached_property(lambda page: incident_clocks(page.object, timezone.now()))

    def get_due(self):
        running = [clock_line(state) for state in self.states if state.is_running]
        if running:
            return running
        if self.object.closed_on:
            return [Line("info", f"Closed: {self.object.closed_reason}", self.object.closed_on)]
        if not self.states:
            return [Line("odd", "No paper with a clock is ticked, so no deadline is shown. Ask the authority whether it must be told.")]
        return [Line("done", "Everybody a clock names was told.")]


class IncidentFormView(RecordFormView):
    model = Incident
    action = "incident.enter"
    form_class = IncidentForm
    service = incident_save
    argument = "incident"
    new_title = "Report an incident"
    question = "What was found, when, and which papers does it affect?"
    cautions = (INCIDENT_CAUTION,)
    person_box = "found_by"

    @property
    def initial(self):
        if self.record:
            return {}
        paper = self.request.GET.get("paper", "")
        return {"authorizations": [get_object_or_404(self.scoped(Authorization), pk=paper)]} if is_record_key(paper) else {}

    def values(self, form):
        values = form.cleaned_data
        return {"papers": list(values["authorizations"]), "lots": values["lots"], "reason": values.get("reason", "")}


class IncidentNoticeView(RecordActionView):
    model = Incident
    action = "incident.enter"
    form_class = IncidentNoticeForm
    title = "Who was told of {object}"
    question = "Who was told, when, how?"
    submit_label = "Save the notice"
    success_message = "Notice saved."
    cautions = (INCIDENT_CAUTION,)
    service = incident_notice_enter
    person_box = "told_by"

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        clocks = self.scoped(ReportingClock).filter(authorization__incidents=self.object).select_related("authorization")
        form.fields["clocks"].queryset = clocks
        form.fields["clocks"].label_from_instance = lambda clock: f"{clock.authorization.code}: {clock.title}, {clock.tell}"
        return form


class IncidentNoticeCorrectView(IncidentNoticeView):
    """The correct notice replaces one entered wrongly, which stays on file."""

    form_class = IncidentNoticeCorrectForm
    question = "What is correct: who was told, when, how?"
    submit_label = "Save the correction"
    success_message = "Correction saved. The notice it replaces stays on file."

    def find_rows(self):
        self.notice = get_object_or_404(self.scoped(IncidentNotice), pk=self.kwargs["pk"])
        self.object = get_object_or_404(self.scoped(Incident), pk=self.notice.incident_id)

    @property
    def initial(self):
        notice = self.notice
        names = ("told_at", "told_whom", "how", "told_by", "text")
        return {name: getattr(notice, name) for name in names} | {"clocks": [notice.clock_id] if notice.clock_id else []}

    def values(self, form):
        return super().values(form) | {"supersedes": self.notice}


class IncidentCloseView(RecordActionView):
    model = Incident
    action = "incident.enter"
    form_class = IncidentCloseForm
    service = incident_close
    title = "Close {object}"
    question = "How did it end?"
    submit_label = "Close the incident"
    success_message = "Incident closed."


class IncidentFileView(StoredFileView):
    model = IncidentNotice
