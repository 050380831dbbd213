"""The calendar of a person: what the registry knows, and the windows of the census rounds."""

import datetime

from django.urls import reverse
from django.utils.translation import gettext, gettext_noop

from plantings.models import CensusRound
from registry.access import roles
from registry.selectors.duties.calendar import CENSUS, CalendarEntry, registry_entries

__all__ = ["AHEAD_DAYS", "BACK_DAYS", "calendar_entries", "own_entries"]

BACK_DAYS, AHEAD_DAYS = 180, 730  # what a calendar program is given
_VISIT = gettext_noop(
    "Next: before you go, open the round on your phone or print its field form. The way there and the cautions are on its page."
)


def calendar_entries(user, first, last, on):
    """Entries from `first` to `last` as this person sees them on a day, the earliest first: [CalendarEntry]. Eleven queries at most."""
    entries = registry_entries(user, first, last, on)
    if user.may("round.view"):
        entries += _windows(user, first, last)
    return sorted(entries, key=lambda entry: (entry.first, not entry.is_late, entry.title))


def own_entries(user, on):
    """What belongs in a person's own calendar, from half a year back to two years ahead; what is late stays however long it is."""
    first, last = on - datetime.timedelta(days=BACK_DAYS), on + datetime.timedelta(days=AHEAD_DAYS)
    entries = calendar_entries(user, datetime.date.min, last, on)
    return [entry for entry in entries if entry.mine and (entry.last >= first or entry.is_late)]


def _windows(user, first, last):
    rounds = CensusRound.objects.for_user(user).filter(opens_on__lte=last, closes_on__gte=first)
    crewed = set(user.plantings.values_list("pk", flat=True))
    for item in rounds.select_related("planting__site").order_by("opens_on", "pk"):
        mine = item.planting_id in crewed or user.role == roles.COORDINATOR
        title = gettext("Census %(round)s: %(site)s (%(planting)s)") % {
            "round": item.label,
            "site": item.planting.site.name,
            "planting": item.planting.code,
        }
        yield CalendarEntry(
            f"round-{item.pk}", CENSUS, title, item.opens_on, item.closes_on,
            (("censusround", item.pk), ("planting", item.planting_id), ("site", item.planting.site_id)),
            reverse("round_detail", args=[item.pk]), mine=mine, step=gettext(_VISIT), notice=(7, 1),
        )  # fmt: skip
