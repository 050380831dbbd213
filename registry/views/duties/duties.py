"""Duties: the list, the page of one with its due dates, its form."""

from datetime import timedelta
from urllib.parse import urlencode

from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.functional import cached_property
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from registry.calc.shared.record_keys import is_record_key
from registry.compliance.duties.duties import DUE, LATE
from registry.forms.duties.duties import DutyFilters, DutyForm
from registry.models import Authorization, Duty, DutyDone
from registry.selectors.duties.dates import (
    NOBODY,
    done_astray,
    duty_dates,
    escalation_words,
    next_date,
    open_dates,
    recurrence_words,
    with_done,
)
from registry.selectors.duties.due_lines import duty_line
from registry.selectors.duties.duty_line import Duty as Line
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_day
from registry.services.duties.duties import duty_save
from registry.views.duties.words import AHEAD_SHOWN_DAYS, DUTY_COLUMNS, DUTY_LISTS, MARKS, DutyRow, status_words
from registry.views.shared.addresses import link, reverse_to
from registry.views.shared.details import PART_ROWS_MAX, RecordDetailView
from registry.views.shared.forms import RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column


class DutyListView(RecordListView):
    model = Duty
    action = "duty.view"
    title = _("Duties")
    question = _("What must be done by when, by whom, and what is overdue?")
    filter_form = DutyFilters
    others = DUTY_LISTS
    add = ("New duty", "duty.edit", "duty_add")
    empty = (_("No duties here"), _("Enter what a paper requires again and again: reports, removal of flowers, visits, renewals."), None)
    row_mark = staticmethod(lambda row: row.mark)
    columns = DUTY_COLUMNS

    def get_queryset(self):
        duties = with_done(super().get_queryset())
        wanted = self.filters.cleaned_data if self.filters is not None and self.filters.is_bound and self.filters.is_valid() else {}
        rows = [DutyRow(duty, next_date(duty, self.today)) for duty in duties]
        rows = [row for row in rows if self.is_wanted(row, wanted)]
        return sorted(rows, key=lambda row: (row.status is None, row.status.due if row.status else row.duty.first_due_on, row.duty.code))

    def is_wanted(self, row, wanted):
        status = row.status.status if row.status else None
        fits = {
            "": row.duty.closed_on is None,
            "late": status == LATE,
            "due": status in (LATE, DUE),
            "closed": row.duty.closed_on is not None,
            "all": True,
        }[wanted.get("status") or ""]
        if wanted.get("whose") and self.user.pk not in (row.duty.responsible_id, row.duty.second_id):
            return False
        within = wanted.get("within")
        return fits and (within is None or (row.status is not None and (row.status.due - self.today).days <= within))


def _is_corrected(done):
    return hasattr(done, "superseded_by")


def _date_columns(page, dates):
    is_open = page.object.closed_on is None
    return (
        Column(_("Due"), "due", kind="date", url=page.done_url),
        Column(_("Status"), lambda date: status_words(date) if is_open or date.done_on else _("not done when it was closed"), kind="state"),
        Column(_("Done on"), "done_on", kind="date"),
        Column(_("Told"), lambda date: ", ".join(gettext(who) for who in date.told) if is_open else ""),
    )


def _done_columns(page, records):
    return (
        Column(_("Was due"), "due_on", kind="date"),
        Column(_("Done on"), "done_on", kind="date"),
        Column(_("Done by"), "by"),
        Column(_("Evidence"), "evidence", wide=True),
        Column(_("File"), "file.filename", url=lambda done: link(page.user, "document.view", "duty_file", done.pk) if done.file else None),
        Column(_("Entered by"), lambda done: f"{done.entered_by or _('taken over')}, {local_day(timezone.localtime(done.entered_at))}"),
        Column(_("Correction"), lambda done: _("corrected") if _is_corrected(done) else page.correct_words, url=page.correct_url),
        Column(_("Why corrected"), "reason"),
    )


class DutyDetailView(RecordDetailView):
    model = Duty
    action = "duty.view"
    question = _("What must be done, by when, and was it?")
    related = ("authorization", "requirement", "partner", "responsible", "second")
    where = "get_kind_display"
    read = staticmethod(with_done)
    title = "{object.title}"
    trace_code = ""
    state = property(lambda page: _("closed %(day)s") % {"day": local_day(page.object.closed_on)} if page.object.closed_on else _("open"))
    facts = (
        Fact(_("How often"), lambda page: recurrence_words(page.object)),
        Fact(_("Counts as due from"), lambda page: _("%(days)s before") % {"days": local_amount(page.object.lead_days, "days")}),
        Fact(_("Paper"), "authorization", lambda p: link(p.user, "authorization.view", "authorization_detail", p.object.authorization_id)),
        Fact(_("Rule"), "requirement", lambda page: link(page.user, "rule.view", "requirement_detail", page.object.requirement_id)),
        Fact(_("Partner"), "partner", lambda page: link(page.user, "partner.view", "partner_detail", page.object.partner_id)),
        Fact(_("Site"), "site_code", lambda page: f"{reverse_to('find')}?{urlencode({'q': page.object.site_code})}"),
        Fact(_("Responsible"), lambda page: str(page.object.responsible or _(NOBODY))),
        Fact(_("Second person"), lambda page: str(page.object.second or _(NOBODY))),
        Fact(_("Escalated to"), lambda page: escalation_words(page.object, page.today)),
        Fact(_("Evidence required"), "evidence_wanted"),
        Fact(_("Note"), "note"),
    )
    actions = (
        Action(_("Mark done"), "duty_done", "duty.done"),
        Action("Change the duty", "duty_edit", "duty.edit"),
        Action("Close the duty", "duty_close", "duty.edit", when=lambda page: page.object.closed_on is None),
    )
    sections = (
        Section(
            title=_("Due dates"),
            unit="dates",
            rows=lambda page: page.dates,
            columns=_date_columns,
            mark=lambda date: MARKS[date.status],
            missing=_("due dates (it is never due)"),
        ),
        Section(
            title=_("Done"),
            unit="records",
            rows=lambda page: page.object.done.select_related("file", "entered_by", "superseded_by").order_by("-due_on", "-pk"),
            most=PART_ROWS_MAX,
            columns=_done_columns,
            mark=lambda done: "soft" if _is_corrected(done) else "",
            missing=_("what was done"),
            add=Action(_("Mark done"), "duty_done", "duty.done"),
        ),
    )

    correct_words = property(lambda page: _("correct it") if page.may("duty.done") and page.user.role in DutyDone.SCOPE else "")

    @cached_property
    def dates(self):
        """The due dates so far and ahead, the latest of them."""
        duty = self.object
        ahead = self.today + timedelta(days=max(AHEAD_SHOWN_DAYS, duty.lead_days))
        return duty_dates(duty, self.today, max(ahead, duty.first_due_on))[-PART_ROWS_MAX:]

    def done_url(self, date):
        if date.done_on or self.object.closed_on or not self.may("duty.done"):
            return None
        return f"{reverse_to('duty_done', self.object.pk)}?due={date.due.isoformat()}"

    def correct_url(self, done):
        return reverse_to("duty_done_correct", done.pk) if self.correct_words and not _is_corrected(done) else None

    def get_due(self):
        duty, paper = self.object, self.object.authorization
        lines = [duty_line(date, self.user, self.today, with_paper=False) for date in open_dates([duty], self.today)]
        if duty.closed_on:
            lines.append(Line("info", _("Closed: %(reason)s") % {"reason": duty.closed_reason}, duty.closed_on))
        elif paper and paper.ends_on and paper.ends_on < self.today:
            lines.append(Line("info", "Its paper has ended. The duty continues until it is closed.", paper.ends_on))
        for done in done_astray(duty, self.today):
            text = _(
                "A record says that this was done for %(day)s, but nothing is due on that day any more. Check the record and correct it."
            )
            text %= {"day": local_day(done.due_on)}
            lines.append(Line("odd", text, done.due_on))
        return lines


class DutyFormView(RecordFormView):
    model = Duty
    action = "duty.edit"
    form_class = DutyForm
    service = duty_save
    argument = "duty"
    question = "What must be done, how often, and who is responsible?"

    @property
    def initial(self):
        paper = self.request.GET.get("paper", "")
        return {"authorization": get_object_or_404(self.scoped(Authorization), pk=paper)} if is_record_key(paper) else {}
