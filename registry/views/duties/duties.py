"""Duties: the list, the page of one with its due dates, and what a paper's page takes from here."""

from urllib.parse import urlencode

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.compliance.duties.duties import DUE, LATE
from registry.forms.duties.duties import DutyFilters, DutyForm
from registry.models import Authorization, Duty, DutyDone, Incident, ReportingClock
from registry.selectors.duties.dates import done_astray, duty_dates, escalation_words, next_date, open_dates, recurrence_words, with_done
from registry.selectors.duties.duty_line import Duty as Line
from registry.services.duties.duties import duty_save
from registry.views.duties.words import AHEAD_SHOWN_DAYS, DUTY_LISTS, MARKS, DutyRow, clock_words, duty_line, duty_url, status_words
from registry.views.shared.generic import RecordDetailView
from registry.views.shared.section_views import PART_ROWS_MAX, SectionFormView, SectionListView, allowed, link
from registry.views.shared.tables import Column, ledger_table


class DutyListView(SectionListView):
    model = Duty
    action = "duty.view"
    title = "Duties"
    question = "What must be done by when, by whom, and what is late?"
    unit = "duties"
    filter_form = DutyFilters
    others = DUTY_LISTS
    add = ("New duty", "duty.edit", "duty_add")
    empty = ("No duty here", "Enter what a paper asks for again and again: reports, removal of flowers, visits, renewals.", None)
    columns = (
        Column("Duty", "duty.code", kind="code", url=lambda row: duty_url(row.duty)),
        Column("What must be done", "duty.title"),
        Column("Next due", "status.due", kind="date"),
        Column("Standing", "standing", kind="state"),
        Column("How often", lambda row: recurrence_words(row.duty)),
        Column("Responsible", lambda row: str(row.duty.responsible or "")),
        Column("Paper", lambda row: row.duty.authorization.code if row.duty.authorization else "", kind="code"),
        Column("Site", "duty.site_code", kind="code"),
    )

    def get_queryset(self):
        self.today = timezone.localdate()
        duties = with_done(super().get_queryset())
        wanted = self.filters.cleaned_data if self.filters is not None and self.filters.is_bound and self.filters.is_valid() else {}
        rows = [DutyRow(duty, next_date(duty, self.today)) for duty in duties]
        rows = [row for row in rows if self.is_wanted(row, wanted)]
        return sorted(rows, key=lambda row: (row.status is None, row.status.due if row.status else row.duty.first_due_on, row.duty.code))

    def is_wanted(self, row, wanted):
        standing, within = wanted.get("standing"), wanted.get("within")
        status = row.status.status if row.status else None
        fits = {
            "": row.duty.closed_on is None,
            "late": status == LATE,
            "due": status in (LATE, DUE),
            "closed": row.duty.closed_on is not None,
            "all": True,
        }[standing or ""]
        if wanted.get("whose") and self.request.user.pk not in (row.duty.responsible_id, row.duty.second_id):
            return False
        return fits and (within is None or (row.status is not None and (row.status.due - self.today).days <= within))

    def row_mark(self, row):
        return "soft" if row.duty.closed_on else MARKS[row.status.status] if row.status else ""


class DutyDetailView(RecordDetailView):
    model = Duty
    action = "duty.view"
    question = "What must be done, by when, and was it?"

    def get_queryset(self):
        return with_done(super().get_queryset()).select_related("authorization", "requirement", "partner", "responsible", "second")

    def get_title(self):
        return self.object.title

    def get_trace_code(self):
        return ""

    def get_page(self):
        duty, user, today = self.object, self.request.user, timezone.localdate()
        self.today = today
        done_url = reverse("duty_done", args=[duty.pk])
        return {
            "code": duty.code,
            "state": f"closed {day_words(duty.closed_on)}" if duty.closed_on else "open",
            "where": duty.get_kind_display(),
            "due": self.get_due(),
            "actions": [
                *allowed(user, ("Mark done", "duty.done", done_url)),
                *allowed(user, ("Change the duty", "duty.edit", reverse("duty_edit", args=[duty.pk]))),
                *([] if duty.closed_on else allowed(user, ("Close the duty", "duty.edit", reverse("duty_close", args=[duty.pk])))),
            ],
            "facts": self.get_facts(),
            "parts": [self.dates_table(), self.done_table()],
        }

    def get_due(self):
        duty, paper = self.object, self.object.authorization
        lines = [duty_line(date, self.request.user) for date in open_dates([duty], self.today)]
        if duty.closed_on:
            lines.append(Line("info", f"Closed: {duty.closed_reason}", duty.closed_on))
        elif paper and paper.ends_on and paper.ends_on < self.today:
            lines.append(Line("info", "Its paper has ended. The duty goes on until it is closed.", paper.ends_on))
        for done in done_astray(duty, self.today):
            text = f"Something is entered as done for {day_words(done.due_on)}, which is no due date any more. Look at it and correct it."
            lines.append(Line("odd", text, done.due_on))
        return lines

    def get_facts(self):
        duty, user = self.object, self.request.user
        paper, rule, partner = duty.authorization, duty.requirement, duty.partner
        facts = [
            ("How often", recurrence_words(duty), None),
            ("Counts as due from", f"{duty.lead_days} days before", None),
            ("Paper", str(paper or ""), link(user, "authorization.view", "authorization_detail", paper.pk) if paper else None),
            ("Rule", str(rule or ""), link(user, "rule.view", "requirement_detail", rule.pk) if rule else None),
            ("Partner", str(partner or ""), link(user, "partner.view", "partner_detail", partner.pk) if partner else None),
            ("Site", duty.site_code, f"{reverse('find')}?{urlencode({'q': duty.site_code})}" if duty.site_code else None),
            ("Responsible", str(duty.responsible or "nobody is named"), None),
            ("Second person", str(duty.second or "nobody is named"), None),
            ("Who is told", escalation_words(duty, self.today), None),
            ("What will show it", duty.evidence_wanted, None),
            ("Note", duty.note, None),
        ]
        return [fact for fact in facts if fact[1]]

    def dates_table(self):
        duty = self.object
        ahead = self.today.fromordinal(self.today.toordinal() + max(AHEAD_SHOWN_DAYS, duty.lead_days))
        dates = duty_dates(duty, self.today, max(ahead, duty.first_due_on))[-PART_ROWS_MAX:]
        asked = duty.closed_on is None
        columns = (
            Column("Due", "due", kind="date", url=self.done_link if self.request.user.may("duty.done") and asked else None),
            Column("Standing", lambda row: status_words(row) if asked or row.done_on else "not done when it was closed", kind="state"),
            Column("Done on", "done_on", kind="date"),
            Column("Told", lambda row: ", ".join(row.told) if asked else ""),
        )
        return ledger_table("Due dates", columns, dates, unit="dates", empty="It never falls due.", mark=lambda row: MARKS[row.status])

    def done_link(self, status):
        return None if status.done_on else f"{reverse('duty_done', args=[self.object.pk])}?due={status.due.isoformat()}"

    def done_table(self):
        user = self.request.user
        may_correct = user.may("duty.done") and user.role in DutyDone.SCOPE

        def corrected(done):
            return hasattr(done, "superseded_by")

        def correct_url(done):
            return reverse("duty_done_correct", args=[done.pk]) if may_correct and not corrected(done) else None

        columns = (
            Column("Was due", "due_on", kind="date"),
            Column("Done on", "done_on", kind="date"),
            Column("Done by", "by"),
            Column("What shows it", "evidence"),
            Column(
                "File", lambda done: done.file.filename if done.file else "",
                url=lambda done: link(user, "document.view", "duty_file", done.pk) if done.file else None,
            ),
            Column("Entered by", lambda done: f"{done.entered_by or 'taken over'}, {day_words(timezone.localtime(done.entered_at))}"),
            Column("Record", lambda done: "corrected" if corrected(done) else "correct it" if may_correct else "stands", url=correct_url),
            Column("Why corrected", "reason"),
        )  # fmt: skip
        records = self.object.done.select_related("file", "entered_by", "superseded_by").order_by("-due_on", "-pk")[:PART_ROWS_MAX]
        return ledger_table(
            "Entered as done", columns, records, unit="records", empty="Nothing is entered as done yet.",
            mark=lambda done: "soft" if corrected(done) else "",
        )  # fmt: skip


class DutyFormView(SectionFormView):
    model = Duty
    action = "duty.edit"
    form_class = DutyForm
    question = "What must be done, how often, and who sees to it?"
    submit_label = "Save the duty"

    def get_initial(self):
        paper = self.request.GET.get("paper", "")
        return {"authorization": get_object_or_404(self.scoped(Authorization), pk=paper)} if paper.isdecimal() else {}

    def save(self, record, many, form):
        return duty_save(actor=self.request.user, duty=record, reason=form.cleaned_data.get("reason", ""))


def duty_parts(user, paper):
    """What the duties know of a paper, for its page: {"due": […], "parts": […], "actions": […]}.

    Empty lists for somebody who may not see duties. Six queries for any number of duties.
    """
    page = {"due": [], "parts": [], "actions": []}
    if not user.may("duty.view"):
        return page
    today = timezone.localdate()
    duties = list(with_done(Duty.objects.for_user(user).filter(authorization=paper)))
    page["due"] = [duty_line(date, user) for date in open_dates(duties, today)]
    page["parts"] = [_duties_part(duties, today), _clocks_part(user, paper), *_incidents_part(user, paper)]
    page["actions"] = allowed(
        user,
        ("Duties and clocks", "duty.view", reverse("authorization_duties", args=[paper.pk])),
        ("Report an incident", "incident.enter", f"{reverse('incident_add')}?paper={paper.pk}"),
    )
    return page


def _duties_part(duties, today):
    rows = sorted((DutyRow(duty, next_date(duty, today)) for duty in duties), key=lambda row: (row.status is None, row.duty.code))
    columns = [column for column in DutyListView.columns if column.label != "Paper"]
    note = "Duties go on after the paper has ended; only closing with a reason ends one."
    return ledger_table(
        "Duties", columns, rows, unit="duties", note=note, empty="No duty is entered under it.",
        mark=lambda row: "soft" if row.duty.closed_on else MARKS[row.status.status] if row.status else "",
    )  # fmt: skip


def _clocks_part(user, paper):
    columns = (
        Column("What is told", "title", url=lambda clock: link(user, "duty.edit", "reportingclock_edit", clock.pk)),
        Column("Whom", "tell"),
        Column("Within", clock_words),
        Column("As the paper says", "as_written"),
    )
    note = "They start when an incident is discovered. Check with the local authority how it counts."
    clocks = ReportingClock.objects.for_user(user).filter(authorization=paper)
    return ledger_table("Clocks of incidents", columns, clocks, unit="clocks", note=note, empty="No clock is entered from it.")


def _incidents_part(user, paper):
    if not user.may("incident.view"):
        return []
    columns = (
        Column("Incident", "code", kind="code", url=lambda incident: reverse("incident_detail", args=[incident.pk])),
        Column("In a few words", "title"),
        Column("Discovered", lambda incident: timezone.localtime(incident.found_at).date(), kind="date"),
        Column("State", lambda incident: "closed" if incident.closed_on else "open", kind="state"),
    )
    incidents = Incident.objects.for_user(user).filter(authorizations=paper)[:PART_ROWS_MAX]
    return [ledger_table("Incidents", columns, incidents, unit="incidents", empty="No incident touches it.")]
