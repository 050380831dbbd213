"""Lines of Today about rounds: open or incomplete ones, flowers seen, records that do not agree."""

import datetime
from collections import Counter, defaultdict
from functools import wraps
from operator import itemgetter

from django.db.models import Count, Min, Q
from django.urls import reverse
from django.utils.translation import gettext as _

from plantings.models import CensusRound, Observation
from plantings.selectors.census.progress_words import is_lacking, progress_words
from plantings.selectors.census.records import late_rounds, late_since, plots_counted_differently, trees_recorded_differently
from plantings.selectors.census.rounds import rounds_with_progress
from plantings.selectors.plantings.complete_rounds import not_complete
from registry.access import roles
from registry.calc.shared.screen import amount_words, day_words
from registry.models.shared.among import Keys
from registry.selectors.duties.duty_line import Duty
from registry.selectors.shared.held_answers import held_by_part, hold_answers

__all__ = ["SHOWN_DAYS", "conflict_lines", "crew_round", "flower_lines", "round_lines"]

ROUNDS_MANY = 500
FLOWERS_SHOWN_DAYS = 60
SHOWN_DAYS = 365  # how long rounds that closed incomplete, and trees rogued without a decision, are listed


def _held(lines):
    """Lines that are read from very many records, held by planting: `lines(user, on, rounds, plantings)` gives (planting, its place in
    the order, line) of the rounds of some plantings, of all for None."""

    @held_by_part(CensusRound)
    @wraps(lines)
    def of_plantings(user, plantings, on):
        rounds = CensusRound.objects.for_user(user)
        found = defaultdict(list)
        rounds = rounds if plantings is None else rounds.filter(planting__in=plantings)
        for planting, *line in lines(user, on, rounds, plantings):
            found[planting].append(line)
        return dict(found)

    def in_order(user, on, now):
        found = [line for of_one in of_plantings(user, on).values() for line in of_one]
        return [line for _place, line in sorted(found, key=itemgetter(0))]

    return in_order


@_held
def round_lines(user, on, rounds, plantings):
    """Rounds whose window is open, or closed within the last year with trees without a record or plots not counted."""
    year_ago = on - datetime.timedelta(days=SHOWN_DAYS)
    listed = list(rounds_with_progress(rounds.filter(opens_on__lte=on, closes_on__gte=year_ago)))
    if len(listed) >= ROUNDS_MANY:
        hold_answers()
    thin = not_complete([item for item in listed if item.closes_on >= on and not is_lacking(item)])
    for item in listed:
        open_now = item.closes_on >= on
        if not open_now and not is_lacking(item):
            continue
        severity = "soon" if open_now else "late"
        where = {"round": item.label, "site": item.planting.site.name, "planting": item.planting.code}
        where["progress"] = progress_words(item, item.pk not in thin)
        text = _("Census %(round)s at %(site)s (%(planting)s): %(progress)s") % where
        url = reverse("round_detail", args=[item.pk])
        line = Duty(severity, text, item.closes_on, url, mine=_is_crew(user) and open_now, first=_is_crew(user) and open_now)
        yield item.planting_id, (item.closes_on, item.pk), line


def _is_crew(user):
    return user.role in roles.OWN_ROWS_ONLY and user.may("census.enter")


def crew_round(user, on):
    """The open round a crew member records trees in, or None: of several the one that closes first."""
    if not _is_crew(user):
        return None
    rounds = CensusRound.objects.for_user(user).filter(opens_on__lte=on, closes_on__gte=on)
    return rounds_with_progress(rounds).filter(missing__gt=0).order_by("closes_on", "pk").first()


@_held
def flower_lines(user, on, rounds, plantings):
    """Rounds of late in which trees were in flower, and earlier ones of which that came in of late: papers about pollen ask to be told of
    that, and soon."""
    since = on - datetime.timedelta(days=FLOWERS_SHOWN_DAYS)
    came_late = Q(pk__among=Keys(late_rounds(plantings, on, since)))
    listed = rounds.filter(Q(opens_on__lte=on, closes_on__gte=since) | came_late)
    news = Q(round__closes_on__gte=since) | Q(received_at__gte=late_since(on))
    rows = (
        Observation.objects.counting().in_flower().filter(news, round__in=listed).order_by().values("round")
        .annotate(n=Count("tree", distinct=True), first=Min("observed_on"))
    )  # fmt: skip
    seen = {row["round"]: row for row in rows}
    for item in listed.filter(pk__in=seen).select_related("planting__site"):
        n, first = seen[item.pk]["n"], seen[item.pk]["first"]
        text = (
            f"{amount_words(n, 'trees')} seen in flower or fruit at {item.planting.site.name} ({item.planting.code}), "
            f"first on {day_words(first)}. Check what the papers of the planting ask about flowers"
        )
        line = Duty("odd", text, url=reverse("planting_detail", args=[item.planting_id]))
        yield item.planting_id, (-item.closes_on.toordinal(), item.pk), line


@_held
def conflict_lines(user, on, rounds, plantings):
    """Trees and plots with two records of one round that do not agree, neither corrected: of rounds that closed within the last year, and
    of those into which records came of late."""
    since = on - datetime.timedelta(days=SHOWN_DAYS)
    recent = rounds.filter(Q(closes_on__gte=since) | Q(pk__among=Keys(late_rounds(plantings, on, since))))
    trees, plots = (Counter(row["round"] for row in find(recent)) for find in (trees_recorded_differently, plots_counted_differently))
    for item in recent.filter(pk__in=[*trees, *plots]).select_related("planting"):
        found = [amount_words(count[item.pk], unit) for count, unit in ((trees, "trees"), (plots, "plots")) if count[item.pk]]
        verb = "has" if trees[item.pk] + plots[item.pk] == 1 else "have"
        text = f"{' and '.join(found)} {verb} two records of {item.label} in {item.planting.code} that do not agree"
        yield item.planting_id, (item.planting.code, item.opens_on), Duty("odd", text, url=reverse("round_detail", args=[item.pk]))
