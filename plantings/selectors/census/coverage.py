"""Coverage: which rounds are visited now, by whom, how far they are, and why trees were not visited."""

import datetime
from dataclasses import dataclass

from django.db.models import Count
from django.utils.translation import gettext_noop

from plantings.calc.census.codes import NOT_VISITED
from plantings.models import CensusRound, Observation
from plantings.selectors.census.cautions import readers_by_round
from plantings.selectors.census.rounds import expected, rounds_with_progress

__all__ = ["CoverageLine", "coverage_lines", "rounds_to_cover"]

COMING_DAYS, PAST_DAYS = 60, 365
_REASONS_SHOWN = 3


@dataclass(frozen=True, slots=True)
class CoverageLine:
    """A round (with progress), its crew by name, its state in a word, trees recorded as not visited, why: the notes of these, and who
    read the cautions on a phone."""

    round: CensusRound
    crew: tuple
    state: str
    unvisited: int
    why: tuple
    readers: tuple

    visited = property(lambda line: line.round.recorded - line.unvisited)
    expected = property(lambda line: expected(line.round))


def rounds_to_cover(user, on):
    """The rounds a person may see that are open, open soon or closed within a year; those that close first on top, then the closed ones."""
    first, last = on - datetime.timedelta(days=PAST_DAYS), on + datetime.timedelta(days=COMING_DAYS)
    rounds = CensusRound.objects.for_user(user).filter(opens_on__lte=last, closes_on__gte=first)
    return rounds_with_progress(rounds).prefetch_related("planting__crew").order_by("-closes_on", "pk")


def coverage_lines(rounds, on, user=None):
    """The CoverageLines of some rounds, with the readers of cautions whom a `user` may see. Two queries besides theirs."""
    rounds = list(rounds)
    readers = readers_by_round(user, rounds) if user else {}
    unvisited, why = {}, {}
    records = Observation.objects.current().filter(round__in=rounds, status=NOT_VISITED).order_by()
    for pk, note, trees in records.values_list("round", "note").annotate(n=Count("pk")).order_by("-n", "note"):
        unvisited[pk] = unvisited.get(pk, 0) + trees
        if note.strip():
            why.setdefault(pk, []).append(note.strip())
    return [
        CoverageLine(
            item,
            tuple(str(person) for person in item.planting.crew.all()),
            _state(item, on, unvisited.get(item.pk, 0)),
            unvisited.get(item.pk, 0),
            tuple(why.get(item.pk, ())[:_REASONS_SHOWN]),
            readers.get(item.pk, ()),
        )
        for item in rounds
    ]


def _state(item, on, unvisited):
    if item.opens_on > on:
        return gettext_noop("to come")
    if item.recorded <= unvisited and not item.counted:
        return gettext_noop("not visited")
    if not item.missing and not unvisited and item.counted == item.plots:
        return gettext_noop("done")
    return gettext_noop("partly")
