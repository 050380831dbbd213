"""Lines about the census, on Today and in the weekly mail: what came in, what the crew looks at again, windows that close soon."""

import datetime

from django.urls import reverse
from django.utils.translation import gettext, ngettext

from plantings.models import CensusRound, SecondDraw
from plantings.selectors.census.reviews import review_counts, rounds_waiting
from plantings.selectors.census.rounds import rounds_with_progress
from plantings.selectors.census.second import draws_listed
from registry.access import roles
from registry.calc.shared.screen import amount_words
from registry.selectors.duties.duty_line import Duty
from registry.selectors.shared.local_words import local_count

__all__ = ["CLOSING_DAYS", "asked_back_lines", "closing_part", "second_lines", "unread_lines"]

CLOSING_DAYS = 21  # so that three weekly mails say that a window closes


def unread_lines(user):
    """Rounds with records that nobody has reviewed, or with pages keyed twice that differ. One query."""
    for item in rounds_waiting(user):
        unread, asked = review_counts(item)
        if unread:
            text = f"Census {item.label} at {item.planting.site.name} ({item.planting.code}): {amount_words(unread, 'records')} to review"
            yield Duty("soon", text + (f", {asked:,} asked back" if asked else ""), url=reverse("round_review", args=[item.pk]))
        if item.to_settle:
            text = f"Census {item.label} in {item.planting.code}: {amount_words(item.to_settle, 'pages')} keyed twice to settle"
            yield Duty("soon", text, url=f"{reverse('round_detail', args=[item.pk])}#keyings")


def asked_back_lines(user):
    """What the office asks a crew to look at again. One query; none for others."""
    if user.role not in roles.OWN_ROWS_ONLY:
        return
    for item in rounds_waiting(user):
        asked = review_counts(item)[1]
        if asked:
            words = ngettext(
                "%(n)s record of %(round)s in %(planting)s to look at again", "%(n)s records of %(round)s in %(planting)s to look at again",
                asked,
            )  # fmt: skip
            text = words % {"n": local_count(asked), "round": item.label, "planting": item.planting.code}
            yield Duty("soon", text, item.closes_on, f"{reverse('round_detail', args=[item.pk])}#asked-back", mine=True)


def second_lines(user):
    """The trees that somebody measures a second time and has not handed in. One query; none for the office."""
    if user.role not in roles.OWN_ROWS_ONLY:
        return
    for draw in draws_listed(SecondDraw.objects.for_user(user).open()):
        left = draw.size - draw.measured
        words = ngettext("%(n)s tree to measure again in %(planting)s", "%(n)s trees to measure again in %(planting)s", left)
        text = words % {"n": local_count(left), "planting": draw.round.planting.code}
        yield Duty("soon", text, None, reverse("seconddraw_detail", args=[draw.pk]), mine=True)


def closing_part(person, on):
    """(heading, lines) of the weekly mail: rounds whose window closes within `CLOSING_DAYS` with trees or plots without a record."""
    return gettext("Census windows that close soon"), list(_closing_lines(person, on)) if person.may("census.enter") else []


def _closing_lines(person, on):
    last = on + datetime.timedelta(days=CLOSING_DAYS)
    rounds = CensusRound.objects.for_user(person).filter(opens_on__lte=on, closes_on__gte=on, closes_on__lte=last)
    for item in rounds_with_progress(rounds).order_by("closes_on", "pk"):
        if not item.missing and item.counted == item.plots:
            continue
        left, plots = [], item.plots - item.counted
        if item.missing:
            left.append(
                ngettext("%(n)s tree without a record", "%(n)s trees without a record", item.missing) % {"n": local_count(item.missing)}
            )
        if plots:
            left.append(ngettext("%(n)s plot not counted", "%(n)s plots not counted", plots) % {"n": local_count(plots)})
        where = {"round": item.label, "site": item.planting.site.name, "planting": item.planting.code, "progress": ", ".join(left)}
        text = gettext("Census %(round)s at %(site)s (%(planting)s): %(progress)s") % where
        step = gettext("Visit what is left and enter it before the last day.")
        yield Duty("soon", text, item.closes_on, reverse("round_detail", args=[item.pk]), step=step)
