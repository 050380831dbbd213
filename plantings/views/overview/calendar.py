"""The calendar by month, and the feed a person's own calendar program reads."""

import calendar
import datetime
import hmac
from dataclasses import dataclass
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.decorators import method_decorator
from django.utils.translation import gettext_lazy as _
from django.views import View

from plantings.selectors.overview.calendar import calendar_entries, own_entries
from registry.access.active import is_active_on
from registry.access.languages import mail_language
from registry.calc.shared.iso import MONTH_PATTERN, iso_month
from registry.models import CalendarFeed
from registry.prints.calendar_file import CONTENT_TYPE, DayEvent, calendar_file
from registry.selectors.duties.calendar import CalendarEntry, last_changes
from registry.selectors.shared.local_words import local_day, local_weekday
from registry.services.duties.feeds import feed_make, feed_revoke, token_sha256
from registry.views.duties.words import DUTY_LISTS
from registry.views.shared.addresses import link
from registry.views.shared.details import PageView

_KINDS = {
    "duty": _("Duty"), "incident": "Incident", "paper": "Paper", "review": "Review", "lot": "Lot", "census": _("Census"),
}  # fmt: skip
_YEARS = (1900, 2200)
_NINE = datetime.timedelta(hours=9)  # when a calendar reminds of a day
_BEFORE_MOMENT = (datetime.timedelta(hours=-2),)


@dataclass(frozen=True, slots=True)
class Day:
    """A day of the month and what falls on it. `is_part`: it belongs to the month shown."""

    on: datetime.date
    entries: list
    is_part: bool
    is_today: bool


class CalendarView(PageView):
    """A month: a list of its days on a phone, seven columns on a desk."""

    action = "duty.view"
    template_name = "plantings/overview/calendar.html"
    title = _("Calendar")
    question = _("What is due, ends or opens, and when?")

    def get_page(self):
        user, today = self.user, self.today
        month = self.get_month(today)
        weeks = calendar.Calendar().monthdatescalendar(month.year, month.month)
        first, last = month, _next_month(month) - datetime.timedelta(days=1)
        entries = calendar_entries(user, first, last, today)
        return {
            "month": month,
            "weekdays": [local_weekday(day).capitalize() for day in weeks[0]],
            "days": [self.get_day(day, entries, month, today) for week in weeks for day in week],
            "count": len(entries),
            "before": f"?month={iso_month(month - datetime.timedelta(days=1))}" if month.year > _YEARS[0] else None,
            "after": f"?month={iso_month(_next_month(month))}" if month.year < _YEARS[1] else None,
            "is_this_month": (month.year, month.month) == (today.year, today.month),
            "others": [(label, url) for label, url in self.get_others() if url],
            "feed_url": link(user, "calendar.feed", "calendar_own"),
        }

    def get_month(self, today):
        text = self.request.GET.get("month", "")
        try:
            month = datetime.datetime.strptime(text, MONTH_PATTERN).date() if text else today.replace(day=1)
        except ValueError:
            raise Http404("Write a month as 2026-10.") from None
        if not _YEARS[0] <= month.year <= _YEARS[1]:
            raise Http404(f"The calendar goes from {_YEARS[0]} to {_YEARS[1]}.")
        return month

    def get_others(self):
        return [(label, link(self.user, action, route)) for label, action, route in DUTY_LISTS if route != "calendar"]

    @staticmethod
    def get_day(day, entries, month, today):
        found = []
        if day.month == month.month:
            found = [_shown(entry, day) for entry in entries if day in _days_shown(entry, month)]
        return Day(day, found, day.month == month.month, day == today)


def _days_shown(entry, month):
    """A window of several days is shown where it opens and where it closes; one that runs through the month, on its first day."""
    last = _next_month(month) - datetime.timedelta(days=1)
    shown = {day for day in (entry.first, entry.last) if month <= day <= last}
    return shown or {month}


def _shown(entry: CalendarEntry, day):
    what = _KINDS[entry.kind]
    if entry.first != entry.last:
        words = _("%(what)s, open until %(last)s") if day == entry.first else _("%(what)s, open since %(first)s")
        words = words if day != entry.last else _("%(what)s, closes")
        what = words % {"what": what, "first": local_day(entry.first), "last": local_day(entry.last)}
    word = entry.state or (_("overdue") if entry.is_late else "")
    return {
        "what": what,
        "title": entry.title,
        "url": entry.url,
        "word": word,
        "is_late": entry.is_late,
        "is_cancelled": entry.is_cancelled,
    }


def _next_month(month):
    return datetime.date(month.year + month.month // 12, month.month % 12 + 1, 1)


class OwnCalendarView(PageView):
    """Making and closing the secret address of one's own calendar. The secret is in this answer and nowhere else."""

    action = "calendar.feed"
    template_name = "plantings/overview/calendar_own.html"
    title = _("Calendar feed")
    question = _("See due dates on your phone.")
    token = ""

    def post(self, request, *args, **kwargs):
        if request.POST.get("do") == "revoke":
            closed = feed_revoke(actor=request.user)
            messages.success(request, _("The address is closed.") if closed else _("No address was open."))
            return redirect("calendar_own")
        self.token = feed_make(actor=request.user)
        response = self.render_to_response(self.get_context_data())
        response["Cache-Control"] = "no-store"
        return response

    def get_page(self):
        feed = CalendarFeed.objects.for_user(self.user).filter(revoked_at__isnull=True).first()
        address = f"{settings.SITE_URL}{reverse('calendar_feed', args=[self.token])}" if self.token else ""
        return {"feed": feed, "address": address, "calendar_url": reverse("calendar")}


@method_decorator(login_not_required, name="dispatch")
class CalendarFeedView(View):
    """The calendar of whoever holds the secret address. Anything else is answered as if nothing were there."""

    action = "calendar.feed"

    def get(self, request, token):
        person, feed = self.get_person(token)
        today = timezone.localdate()
        with translation.override(mail_language(person)):
            entries = own_entries(person, today)
            changes = last_changes(entries)
            events = [_event(entry, changes.get(entry.key), feed) for entry in entries]
        response = HttpResponse(calendar_file(f"Mastbook: {person}", events), content_type=CONTENT_TYPE)
        response["Cache-Control"] = "no-store"
        response["Content-Disposition"] = 'inline; filename="mastbook.ics"'
        return response

    def get_person(self, token):
        sha256 = token_sha256(token)
        feed = CalendarFeed.objects.filter(token_sha256=sha256, revoked_at__isnull=True).select_related("person").first()
        if feed is None or not hmac.compare_digest(feed.token_sha256, sha256) or not feed.person.may(self.action):
            raise Http404("There is nothing here.")
        if not is_active_on(feed.person, timezone.localdate()):
            raise Http404("There is nothing here.")
        return feed.person, feed


def _event(entry, change, feed):
    host = urlsplit(settings.SITE_URL).hostname or "localhost"
    # no word that changes with the day alone: SEQUENCE would not grow with it
    kind = _("%(what)s, done") % {"what": _KINDS[entry.kind]} if entry.is_done else str(_KINDS[entry.kind])
    description = "\n".join((kind, *entry.lines))
    alarms = _BEFORE_MOMENT if entry.at else tuple(_NINE - datetime.timedelta(days=days) for days in entry.notice)
    return DayEvent(
        f"{entry.key}@{host}", entry.title, entry.first, entry.last, change.at if change else feed.made_at,
        max(change.count - 1, 0) if change else 0, description, f"{settings.SITE_URL}{entry.url}", entry.is_cancelled, entry.at,
        () if entry.is_done else alarms,
    )  # fmt: skip
