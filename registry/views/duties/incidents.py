"""Incidents: entered whatever the papers say, with the clocks of every paper they touch, and who was told."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views import View

from registry.access.views import AccessMixin
from registry.calc.shared.screen import span_words
from registry.forms.duties.duties import IncidentCloseForm, IncidentFilters, IncidentForm, IncidentNoticeCorrectForm, IncidentNoticeForm
from registry.models import Authorization, Incident, IncidentNotice, ReportingClock
from registry.selectors.duties.duty_line import Duty as Line
from registry.selectors.duties.incidents import incident_clocks, limit_words, with_clocks, zoned_words
from registry.selectors.permits.documents import file_content, file_fault
from registry.services.duties.incidents import incident_close, incident_notice_enter, incident_save
from registry.views.duties.done import done_values
from registry.views.duties.words import DUTY_LISTS, clock_words
from registry.views.pedigree.taxa import lot_url
from registry.views.shared.generic import RecordActionView, RecordDetailView, file_response
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed, link
from registry.views.shared.tables import Column, ledger_table

INCIDENT_CAUTION = {
    "title": "Tell the authority yourself",
    "text": "The book tells nobody. Deadlines here come from what was typed from the paper: check with the local authority how it counts, "
    "and call early.",
}


def incident_url(incident):
    return reverse("incident_detail", args=[incident.pk])


def clock_standing(state):
    """'told in time', 'told 2 hours late', 'not told, 1 day late', 'not told yet'."""
    late = span_words(state.late_by) if state.late_by is not None else ""
    if state.notice:
        return f"told {late} late" if late else "told in time"
    return f"not told, {late} late" if late else "not told yet"


def clock_line(state, mine=False):
    """A running clock as a line of what is due."""
    told = f"tell {state.clock.tell} by {limit_words(state.limit)}: {clock_standing(state)}"
    text = f"Incident {state.incident.code}: {state.clock.title}, {told}"
    return Line("late" if state.late_by is not None else "soon", text, state.limit.on, incident_url(state.incident), mine=mine)


def _clock_mark(state):
    return "late" if state.late_by is not None else "soon" if state.is_running else ""


class IncidentListView(SectionListView):
    model = Incident
    action = "incident.view"
    title = "Incidents"
    question = "What happened that was not meant to, and was everybody told in time?"
    unit = "incidents"
    filter_form = IncidentFilters
    others = DUTY_LISTS
    add = ("Report an incident", "incident.enter", "incident_add")
    empty = ("No incident is entered", "Seedlings outside the plot, flowers seen too late, stolen tags, fire: enter what you find.", None)

    @property
    def columns(self):
        return (
            Column("Incident", "code", kind="code", url=incident_url),
            Column("In a few words", "title"),
            Column("Discovered", lambda incident: zoned_words(incident.found_at)),
            Column("Papers", lambda incident: ", ".join(paper.code for paper in incident.authorizations.all())),
            Column("Clocks", lambda incident: clocks_words(self.states(incident))),
            Column("State", lambda incident: "closed" if incident.closed_on else "open", kind="state"),
        )

    def get_queryset(self):
        self.now = timezone.now()
        return with_clocks(super().get_queryset())

    def states(self, incident):
        return incident_clocks(incident, self.now)

    def row_mark(self, incident):
        running = [state for state in self.states(incident) if state.is_running]
        if any(state.late_by is not None for state in running):
            return "late"
        return "soon" if running else "soft" if incident.closed_on else ""


def clocks_words(states):
    """'2 of 3 not told, 1 late'."""
    running = [state for state in states if state.is_running]
    late = sum(state.late_by is not None for state in running)
    if not states:
        return "no clock"
    return f"{len(running)} of {len(states)} not told{f', {late} late' if late else ''}" if running else "all told"


class IncidentDetailView(RecordDetailView):
    model = Incident
    action = "incident.view"
    question = "What was found, and who must be told by when?"

    def get_queryset(self):
        return with_clocks(super().get_queryset()).select_related("entered_by").prefetch_related("lots")

    def get_title(self):
        return self.object.title

    def get_trace_code(self):
        return ""

    def get_page(self):
        incident, user = self.object, self.request.user
        states = incident_clocks(incident, timezone.now())
        running = [state for state in states if state.is_running]
        steps = [("Enter who was told", "incident_notice"), ("Change the incident", "incident_edit")]
        steps += [] if incident.closed_on else [("Close it", "incident_close")]
        return {
            "code": incident.code,
            "state": "closed" if incident.closed_on else "open",
            "where": incident.place,
            "due": [clock_line(state) for state in running] or self.quiet_lines(states),
            "cautions": [INCIDENT_CAUTION],
            "actions": allowed(user, *((label, "incident.enter", reverse(route, args=[incident.pk])) for label, route in steps)),
            "facts": self.get_facts(),
            "parts": [
                {"title": "What was found", "include": "registry/shared/_as_written.html", "text": incident.what},
                self.clocks_table(states),
                self.notices_table(),
            ],
        }  # fmt: skip

    def quiet_lines(self, states):
        incident = self.object
        if incident.closed_on:
            return [Line("info", f"Closed: {incident.closed_reason}", incident.closed_on)]
        if not states:
            return [Line("odd", "No paper with a clock is ticked, so no deadline is shown. Ask the authority whether it must be told.")]
        return [Line("done", "Everybody was told for whom a clock ran.")]

    def get_facts(self):
        incident, user = self.object, self.request.user
        papers = incident.authorizations.all()
        lots = [("Lot", lot.code, lot_url(lot) if user.may("lot.view") else None) for lot in incident.lots.all()]
        facts = [
            ("Discovered", zoned_words(incident.found_at), None),
            ("Discovered by", incident.found_by, None),
            ("Place", incident.place, None),
            ("Site", incident.site_code, None),
            *(("Paper", str(paper), link(user, "authorization.view", "authorization_duties", paper.pk)) for paper in papers),
            *lots,
            ("What was done about it", incident.done_about_it, None),
            ("Entered", f"{zoned_words(incident.entered_at)}, by {incident.entered_by or 'somebody not named'}", None),
        ]
        return [fact for fact in facts if fact[1]]

    def clocks_table(self, states):
        codes = {paper.pk: paper.code for paper in self.object.authorizations.all()}
        columns = (
            Column("To be told by", lambda state: limit_words(state.limit)),
            Column("What", "clock.title"),
            Column("Whom", "clock.tell"),
            Column("Paper", lambda state: codes[state.clock.authorization_id], kind="code"),
            Column("Within", lambda state: clock_words(state.clock)),
            Column("Standing", clock_standing, kind="state"),
        )
        empty = "No clock runs: no paper with one is ticked."
        return ledger_table("Clocks", columns, states, unit="clocks", empty=empty, mark=_clock_mark)

    def notices_table(self):
        user = self.request.user
        columns = (
            Column("Told at", lambda notice: zoned_words(notice.told_at)),
            Column("Who", "told_whom"),
            Column("How", "how"),
            Column("By", "told_by"),
            Column("For", lambda notice: notice.clock.title if notice.clock else "no clock"),
            Column("What was said", "text"),
            Column("Standing", _standing_words, url=lambda notice: _correct_url(user, notice)),
            Column(
                "File", lambda notice: notice.file.filename if notice.file else "",
                url=lambda notice: link(user, "document.view", "incident_file", notice.pk) if notice.file else None,
            ),
        )  # fmt: skip
        # asked afresh: what the incident holds in memory leaves the corrected ones out
        notices = IncidentNotice.objects.filter(incident=self.object).select_related("clock", "file", "superseded_by")
        return ledger_table("Who was told", columns, notices, unit="notices", empty="Nobody is entered as told.")


def _standing_words(notice):
    newer = getattr(notice, "superseded_by", None)
    return f"corrected: {newer.reason}" if newer else "it counts; correct it"


def _correct_url(user, notice):
    return link(user, "incident.enter", "incident_correct", notice.pk) if getattr(notice, "superseded_by", None) is None else None


class IncidentFormView(SectionFormView):
    model = Incident
    action = "incident.enter"
    form_class = IncidentForm
    question = "What was found, when, and which papers does it touch?"
    submit_label = "Save the incident"

    def get_title(self):
        return super().get_title() if self.record else "Report an incident"

    def get_initial(self):
        paper = self.request.GET.get("paper", "")
        if self.record or not paper.isdecimal():
            return {} if self.record else {"found_by": str(self.request.user)}
        return {"authorizations": [get_object_or_404(self.scoped(Authorization), pk=paper)], "found_by": str(self.request.user)}

    def get_cautions(self):
        return [INCIDENT_CAUTION]

    def perform(self, form):
        values = form.cleaned_data
        return incident_save(
            actor=self.request.user, incident=form.instance, papers=list(values["authorizations"]), lots=values["lots"],
            reason=values.get("reason", ""),
        )  # fmt: skip


class IncidentNoticeView(RecordActionView):
    model = Incident
    action = "incident.enter"
    form_class = IncidentNoticeForm
    question = "Who was told, when, how?"
    submit_label = "Enter it"
    success_message = "It is in the book."

    def get_title(self):
        return f"Who was told of {self.object}"

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        clocks = self.scoped(ReportingClock).filter(authorization__incidents=self.object).select_related("authorization")
        form.fields["clocks"].queryset = clocks
        form.fields["clocks"].label_from_instance = lambda clock: f"{clock.authorization.code}: {clock.title}, {clock.tell}"
        return form

    def get_initial(self):
        return {"told_by": str(self.request.user)}

    def get_cautions(self):
        return [INCIDENT_CAUTION]

    def perform(self, form):
        return incident_notice_enter(actor=self.request.user, incident=self.object, **done_values(form))


class IncidentNoticeCorrectView(IncidentNoticeView):
    """A notice entered wrongly: the right one takes its place, and the wrong one stays in the book."""

    form_class = IncidentNoticeCorrectForm
    question = "What is right about who was told, when, how?"
    submit_label = "Correct it"

    def dispatch(self, request, *args, **kwargs):
        if request.user.may(self.action):
            self.notice = get_object_or_404(self.scoped(IncidentNotice), pk=kwargs["pk"])
            kwargs = kwargs | {"pk": self.notice.incident_id}
        return super().dispatch(request, *args, **kwargs)

    def get_initial(self):
        notice = self.notice
        names = ("told_at", "told_whom", "how", "told_by", "text")
        return {name: getattr(notice, name) for name in names} | {"clocks": [notice.clock_id] if notice.clock_id else []}

    def perform(self, form):
        values = done_values(form) | {"supersedes": self.notice}
        return incident_notice_enter(actor=self.request.user, incident=self.object, **values)


class IncidentCloseView(RecordActionView):
    model = Incident
    action = "incident.enter"
    form_class = IncidentCloseForm
    question = "How did it end?"
    submit_label = "Close the incident"
    success_message = "The incident is closed."

    def get_title(self):
        return f"Close {self.object}"

    def perform(self, form):
        return incident_close(actor=self.request.user, incident=self.object, **form.cleaned_data)


class IncidentFileView(AccessMixin, View):
    """A file of a notice, as a download."""

    action = "document.view"

    def get(self, request, pk):
        notice = get_object_or_404(self.scoped(IncidentNotice).select_related("file").filter(file__isnull=False), pk=pk)
        fault = file_fault(notice.file)
        if fault:
            raise Http404(f"The file of “{notice}” cannot be handed out: {fault}. Take it from the backup.")
        response = file_response(file_content(notice.file), notice.file.content_type, notice.file.filename)
        response["Cache-Control"] = "private, no-store"
        return response
