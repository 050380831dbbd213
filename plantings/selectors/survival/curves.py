"""Survival of the groups of a survival table at every age there is, and the groups of many rounds without their figures."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from django.utils import timezone

from plantings.calc.survival.census_choice import AGE, CensusChoice
from plantings.calc.survival.groups import LEVEL_FIRST_SHOWN, LINEAGE, TEST
from plantings.calc.survival.rows_by_label import CurvesByLabel
from plantings.calc.survival.table import SurvivalRow
from plantings.calc.survival.tally_sums import KindIndex
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.rounds import Rounds, rounds_in_scope
from plantings.selectors.survival.survival import checked_groups
from plantings.selectors.survival.tallies import GroupLabels, read_tallies
from registry.selectors.shared.held_answers import held_until_change

__all__ = ["AgeTallies", "SurvivalCurve", "survival_curve"]

_PARTS_HELD = 6


@dataclass(frozen=True, slots=True)
class SurvivalCurve:
    """The same groups at every age: each of `rows` is one group as {age: SurvivalRow}, in the order of labels; `unread_of` is {age:
    {(planting, sown): records nobody has accepted}}, which are in the figures if `unread_count`."""

    by: tuple[str, ...]
    level: str
    seasons: tuple[int, ...]
    rows: Sequence[dict[int, SurvivalRow]]
    site_names: dict[str, str]
    unread_of: Mapping[int, dict]
    unread_count: bool
    as_of: datetime.date


@held_until_change
def survival_curve(user, by=(LINEAGE,), level=LEVEL_FIRST_SHOWN, filters=None):
    """Survival of the same groups at every age there is; at each age only the plantings that have a complete census of it."""
    by, filters = checked_groups(by, level), filters or SurvivalFilter()
    rounds = rounds_in_scope(user, filters)
    ages = tuple(age for age, _ in rounds.numbers(AGE))
    tallies = AgeTallies(user, by, level, filters, rounds, ages)
    names = {part.site: part.site_name for part in tallies.every.values()}
    return SurvivalCurve(
        by, level, ages, _CurvesOnDemand(tallies, filters.roles), names, _UnreadOfAges(tallies.chosen), rounds.unread_count,
        timezone.localdate(),
    )  # fmt: skip


class _UnreadOfAges(Mapping):
    """{age: `unread_of` its chosen rounds}, made where somebody asks: a download does, a page does not."""

    def __init__(self, chosen):
        self._chosen = chosen

    def __getitem__(self, age):
        return Rounds.unread_of(self._chosen[age])

    def __iter__(self):
        return iter(self._chosen)

    def __len__(self):
        return len(self._chosen)


class AgeTallies:
    """The tallies of every age, of all plantings or of some; `chosen` is {age: {(round, sown): RoundPart}}, `every` those of all ages.

    Of few rounds all are read at once; of many only those of the plantings that somebody looks at.
    """

    def __init__(self, user, by, level, filters, rounds, ages):
        self.user, self.filters, self.labels = user, filters, GroupLabels(by, level, filters)
        self.moments = [CensusChoice(AGE, age) for age in ages]
        self.chosen, self.every = rounds.chosen_of_ages(ages), rounds.every_of_ages(ages)
        self._whole, self._once = None if rounds.are_many else self._read(self.every), None

    def by_age(self, plantings=None):
        """{age: Tallies} of plantings by their codes; of all where left out."""
        whole, self._once = self._whole or self._once, None
        if whole and plantings is not None:
            here = whole[0].is_of(plantings)
            whole = whole[0].taken(here), whole[1][here]
        return self._split(*(whole or self._of_plantings(plantings)))

    def by_age_of_kinds(self, numbers):
        """{age: Tallies} of some groups by their numbers in `index`."""
        whole, self._once = self._whole or self._once, None
        if whole:
            wanted = np.zeros(len(self.index.kinds), dtype=bool)
            wanted[numbers] = True
            found = whole[0].parted(("kinds", tuple(numbers)), lambda: wanted[whole[0].kind])
            return self._split(found, found.frame.once("ages", lambda: whole[1][wanted[whole[0].kind]]))
        whole = self._of_plantings(set().union(*map(self.index.plantings_of, numbers)))
        kinds = {self.index.kinds[number] for number in numbers}
        here = np.array([kind in kinds for kind in whole[0].kinds], dtype=bool)[whole[0].kind]
        return self._split(whole[0].taken(here), whole[1][here])

    def _of_plantings(self, plantings):
        every = self.every
        return self._read(every if plantings is None else {key: part for key, part in every.items() if part.planting in plantings})

    def _split(self, tallies, ages):
        return {age: tallies.parted(("age", age), lambda age=age: ages == age) for age in self.chosen}

    @cached_property
    def index(self):
        """The KindIndex of all groups. What was read for it is there once more, for the page that is worked out next."""
        whole = self._whole or self._read(self.every)
        self._once = None if self._whole else whole
        return KindIndex.of(whole[0])

    def sites(self, sown):
        """{site: codes of its plantings} of the sites that have trees, or sown seed, under test, in the order of codes."""
        index = self.index
        under_test = index.kinds.roles(lambda role, _standard, is_sown: (role, is_sown) == (TEST, sown))
        planted = set().union(*(index.plantings_of(number) for number in index.numbers[under_test[index.numbers]].tolist()))
        plantings = {}
        for part in self.every.values():
            plantings.setdefault(part.site, set()).add(part.planting)
        return {site: found for site, found in sorted(plantings.items()) if found & planted}

    def _read(self, here):
        """(Tallies of rounds, the age of each)."""
        read = read_tallies(self.user, self.filters, here, self.moments if len(here) == len(self.every) else (None,))
        tallies, places = self.labels.tallies_and_parts(read, here)
        # the frame is of these rounds, so it may remember their ages
        return tallies, tallies.frame.once("ages", lambda: np.array([part.age for part in here.values()], dtype=np.int64)[places])


class _CurvesOnDemand(Sequence):
    """As `CurvesByLabel` of all tallies: a slice adds up those of its own groups, since a page shows few of many."""

    def __init__(self, tallies, roles):
        self._tallies, self._roles = tallies, roles
        self._index = tallies.index
        self._numbers = self._index.in_order(roles)
        self._parts = {}

    def __len__(self):
        return len(self._numbers)

    def __getitem__(self, place):
        if not isinstance(place, slice):
            return self[place : place + 1][0]
        numbers = self._numbers[place]
        part = (place.start, place.stop, place.step)
        if part not in self._parts:
            curves = CurvesByLabel(self._tallies.by_age_of_kinds(numbers), self._roles)
            found = tuple(curves.at(self._index.kinds[number]) for number in numbers)
            if len(numbers) == len(self._numbers) > 600 or len(self._parts) == _PARTS_HELD:
                return found
            self._parts[part] = found
        return self._parts[part]

    def __iter__(self):
        return iter(self[:])
