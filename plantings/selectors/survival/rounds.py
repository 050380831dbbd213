"""Which census round of each planting a figure is made from: complete ones, at one moment."""

import datetime
from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import cached_property
from operator import or_
from typing import NamedTuple

from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone
from django.utils.translation import gettext, gettext_noop

from plantings.calc.survival.census_choice import AGE, SEASON, VISIT, CensusChoice
from plantings.calc.survival.completeness import Progress, why_not_complete
from plantings.calc.survival.groups import ROLES_COUNTED
from plantings.choices import PlantingState
from plantings.models import CountedPlot, Planting, PlantingEntry, ReviewTally, RoundProgress, RoundResult, SecondDraw, Tree
from plantings.selectors.plantings.round_parts import Chosen, MomentNumbers, OpenRound, PartsInTime, RoundPart, chosen_parts
from plantings.selectors.survival.filters import NOT_KNOWN, UNREVIEWED, SurvivalFilter, within
from registry.choices import YES, ProgrammeKey
from registry.selectors.people.programme import settings_of
from registry.selectors.shared.held_answers import held_by_part, held_until_change, hold_answers
from registry.selectors.shared.raw_rows import raw_rows

__all__ = ["NOT_KNOWN", "LeftOut", "OpenRound", "RoundPart", "Rounds", "SurvivalFilter", "WaitingRound", "left_out", "rounds_in_scope"]

NO_CENSUS = gettext_noop("no census yet")
MANY_ROUNDS = 5_000  # from here on figures are worked out once for each state of the records
NUMBER_UNKNOWN = gettext_noop("nobody knows how many were planted, so its plots have counts and no survival")


class WaitingRound(NamedTuple):
    """A round of which no record counts before a review: how many wait for one."""

    planting: str
    site: str
    label: str
    records: int


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A planting that is not in the figures, and why. `is_unknown`: nobody knows how many were planted of anything it has."""

    planting: str
    site: str
    reason: str
    is_unknown: bool = False


class Rounds:
    """The rounds in scope, by planting and by planted or sown, in the order of time."""

    def __init__(self, by_planting, percent, filters, unread_count=True, waiting=()):
        self.percent = percent
        self.filters = filters
        self.unread_count = unread_count
        self.waiting = tuple(waiting)
        self.plantings_waiting = {item.planting for item in self.waiting}
        self.by_planting = by_planting

    def __bool__(self):
        return bool(self.by_planting)

    @property
    def are_many(self):
        """Whether figures are worked out once for each state of the records, and only those that a page shows."""
        return sum(map(len, self.by_planting.values())) >= MANY_ROUNDS

    def usable(self, parts):
        return parts.usable(self.filters)

    def chosen(self, moment):
        """{(round, sown): RoundPart}: of each planting the latest round at this moment that may be used."""
        return chosen_parts(("at", moment, self.filters), self.by_planting, lambda parts: parts.at(self.filters, moment)).get(
            moment, Chosen()
        )

    def chosen_of_ages(self, ages):
        """{age: as `chosen`} of several ages."""
        found = chosen_parts(("ages", self.filters), self.by_planting, lambda parts: parts.of_ages(self.filters))
        return {age: found.get(age, Chosen()) for age in ages}

    def every_of_ages(self, ages):
        """As `chosen` of several ages together."""

        def entries(parts):
            return [(None, key, part) for age, key, part in parts.of_ages(self.filters) if age in ages]

        return chosen_parts(("every", ages, self.filters), self.by_planting, entries).get(None, Chosen())

    def chosen_of_all(self, *, sown):
        """As `chosen` of all rounds that may be used, of the planted trees or of the sown seed."""
        found = chosen_parts(("all", self.filters), self.by_planting, lambda parts: parts.of_all(self.filters))
        return found.get(sown, Chosen())

    def numbers(self, kind):
        """((age, calendar year or visit, number of plantings that have it), …) in ascending order."""
        plantings = Counter()
        place = (AGE, SEASON, VISIT).index(kind)
        for found, number in self._alike.items():
            for one in found[place]:
                plantings[one] += number
        return tuple(sorted(plantings.items()))

    def default_moment(self):
        """The oldest age that at least half of the plantings with a usable census have reached; None without any."""
        oldest = Counter()
        for numbers, plantings in self._alike.items():
            if numbers.age:
                oldest[max(numbers.age)] += plantings
        half = sum(oldest.values()) / 2
        reached = [age for age, _ in self.numbers(AGE) if sum(count for last, count in oldest.items() if last >= age) >= half]
        return CensusChoice(AGE, max(reached)) if reached else None

    @cached_property
    def _alike(self):
        """{the MomentNumbers of a planting: how many plantings have just these}."""
        found = {}
        for (planting, _sown), parts in self.by_planting.items():
            numbers = parts.numbers(self.filters)
            found[planting] = MomentNumbers(*map(or_, found[planting], numbers)) if planting in found else numbers
        return Counter(found.values())

    def not_complete(self, moment):
        """The OpenRounds of this moment, and the latest round of each planting where it is one."""
        return tuple(found for parts in self.by_planting.values() for found in parts.not_complete(self.filters, moment))

    @staticmethod
    def unread_of(chosen):
        """{(planting, sown): records nobody has accepted} of chosen rounds."""
        return {(part.planting, part.sown): part.unread for part in chosen.values()}

    def ages(self, planting):
        """The ages a planting has a usable census of."""
        return set().union(
            *(parts.numbers(self.filters).age for sown in (False, True) if (parts := self.by_planting.get((planting, sown))))
        )


@held_until_change
def rounds_in_scope(user, filters):
    """The Rounds a person may see, within the filters: one query, and one for the programme's settings."""
    percent, unread_count = settings_of((ProgrammeKey.COMPLETE_PERCENT, ProgrammeKey.UNREAD_COUNT)).values()
    by_planting = {}
    for parts in within(filters, user, _parts_of_plantings, percent).values():
        by_planting |= {(parts[0].planting, parts[0].sown): parts for parts in parts}
    counts = unread_count == YES
    rounds = Rounds(by_planting, percent, filters, counts, () if counts else _waiting(user, filters))
    if rounds.are_many:
        hold_answers()
    return rounds


@held_by_part(RoundProgress)
def _parts_of_plantings(user, plantings, filters, percent):
    """{key of a planting: (PartsInTime of its planted trees, of its sown seed)}, those there are. One query."""
    rows = filters.narrow(RoundProgress.objects.for_user(user), "round__planting__site").order_by("round__opens_on", "round_id")
    if plantings is not None:
        rows = rows.filter(round__planting__in=plantings)
    today = timezone.localdate().isoformat()
    parts, visits = defaultdict(lambda: ([], [])), defaultdict(list)
    drawn, printed = (model.objects.filter(round=OuterRef("round")) for model in (SecondDraw, RoundResult))
    unread = F("round__review_tally__unread") + F("round__review_tally__asked_back") - F("round__review_tally__in_no_figure")
    found = raw_rows(
        rows.values_list(
            "round__planting", "round", "sown", "round__label", "round__growing_seasons", "round__opens_on", "round__closes_on",
            "round__protocol_version", "round__planting__code", "round__planting__site__code", "round__planting__site__name",
            "round__planting__site__jurisdiction", unread, Exists(drawn), Exists(printed), *Progress._fields,
        )
    )  # fmt: skip
    for key, pk, sown, label, age, opens_on, closes_on, protocol, planting, site, name, place, unread, second, out, *counts in found:
        if not visits[key] or visits[key][-1] != pk:
            visits[key].append(pk)
        # both databases hand back what is a day here: one as text, the other as a date
        opens_on, closes_on = str(opens_on), str(closes_on)
        progress = Progress(*counts)
        why = why_not_complete(progress, closes_on < today, percent)
        parts[key][bool(sown)].append(
            RoundPart(
                pk, bool(sown), label, age, int(opens_on[:4]), len(visits[key]), datetime.date.fromisoformat(closes_on), protocol,
                planting, site, name, place, unread or 0, bool(second), bool(out), progress, why,
            )
        )  # fmt: skip
    return {key: tuple(PartsInTime(found) for found in both if found) for key, both in parts.items()}


def _waiting(user, filters):
    """The WaitingRounds a person may see. Without a record that counts, a round has no tally, and so no part."""
    waiting = F("unread") + F("asked_back") - F("in_no_figure")
    tallies = filters.narrow(ReviewTally.objects.for_user(user), "round__planting__site").annotate(records=waiting)
    tallies = tallies.filter(~Exists(RoundProgress.objects.filter(round=OuterRef("round"))), records__gt=0)
    names = ("round__planting__code", "round__planting__site__code", "round__label", "records")
    return [WaitingRound(*row) for row in tallies.order_by("round__planting__code", "round__opens_on").values_list(*names)]


def left_out(user, filters, rounds, chosen):
    """Established plantings with trees to count that have no usable census at the moment the `chosen` rounds are of."""
    present = {part.planting for part in chosen.values()}
    return tuple(
        LeftOut(code, site, gettext(NUMBER_UNKNOWN) if is_unknown else _why_left_out(rounds, code), is_unknown)
        for code, site, is_unknown in sorted(within(filters, user, _plantings_to_count).values())
        if code not in present
    )


@held_by_part(Planting)
def _plantings_to_count(user, plantings, filters):
    """{key: (code, code of its site, whether nobody knows how many were planted of anything it has)} of established plantings."""
    counted = PlantingEntry.objects.filter(planting=OuterRef("pk"), role__in=ROLES_COUNTED)
    rows = Planting.objects.for_user(user).exclude(state=PlantingState.PLANNED).filter(Exists(counted))
    rows = rows if plantings is None else rows.filter(pk__in=plantings)
    trees, plots = (model.objects.filter(planting=OuterRef("pk")) for model in (Tree, CountedPlot))
    is_partial = Q(trees_left_out=True)
    only_unknown = (Exists(plots.unknown()) | is_partial & Exists(trees)) & ~Exists(plots.known()) & (is_partial | ~Exists(trees))
    found = filters.narrow(rows, "site").order_by().values_list("pk", "code", "site__code", only_unknown)
    return {pk: (code, site, bool(is_unknown)) for pk, code, site, is_unknown in found}


def _why_left_out(rounds, planting):
    ages = rounds.ages(planting)
    if ages:
        return gettext("complete after %(ages)s") % {"ages": ", ".join(map(str, sorted(ages)))}
    if planting in rounds.plantings_waiting:
        return gettext("its records wait for a review")
    parts = [part for sown in (False, True) for part in rounds.by_planting.get((planting, sown), ()) if not part.why]
    if parts and not any(rounds.filters.takes(part.unread) for part in parts):
        accepted = rounds.filters.review == UNREVIEWED
        return gettext("every record of its censuses is accepted") if accepted else gettext("records that nobody has accepted")
    recorded = any((planting, sown) in rounds.by_planting for sown in (False, True))
    return gettext("no complete census yet") if recorded else gettext(NO_CENSUS)
