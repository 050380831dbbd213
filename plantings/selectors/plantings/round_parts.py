"""The rounds of a planting in the order of time, and those of many plantings that figures are made from.

Most writes leave all but one planting as it was, so what was chosen before them is taken again but for that one.
"""

import datetime
import threading
from collections import OrderedDict
from functools import cached_property
from operator import attrgetter
from typing import NamedTuple

import numpy as np

from plantings.calc.survival.completeness import Progress
from registry.selectors.shared.held_answers import are_held

__all__ = ["Chosen", "MomentNumbers", "OpenRound", "PartColumns", "PartsInTime", "RoundPart", "chosen_parts"]

_HELD_OF_PARTS = 60
_CHOICES_MOST = 12  # of those who read results: each has the rounds of all plantings
_CHANGED_MOST = 100  # plantings; of more the choice is made of all


class RoundPart(NamedTuple):
    """The planted trees, or the sown seed, of one round with records. `why` is "" when it is complete, else open or thin; `unread` are the
    records of the round that nobody has accepted; `is_drawn` says that trees of the round were drawn for a second measurement,
    `is_given_out` that its result was printed."""

    round: int
    sown: bool
    label: str
    age: int
    year: int
    visit: int
    closes_on: datetime.date
    protocol: str
    planting: str
    site: str
    site_name: str
    jurisdiction: str
    unread: int
    is_drawn: bool
    is_given_out: bool
    progress: Progress
    why: str


class OpenRound(NamedTuple):
    """A round that is not a result yet, and whether it is in the figures all the same, because somebody asked for it."""

    part: RoundPart
    shown: bool


class MomentNumbers(NamedTuple):
    """The ages, calendar years and visits that there are."""

    age: frozenset = frozenset()
    year: frozenset = frozenset()
    visit: frozenset = frozenset()


class PartsInTime(tuple):
    """The RoundParts of a planting, planted or sown, in the order of time. What follows from them is worked out once."""

    def usable(self, filters):
        key = filters.open_rounds, filters.review
        return self._once(key, lambda: [part for part in self if (filters.open_rounds or not part.why) and filters.takes(part.unread)])

    def last(self, filters, moment):
        """The latest of the usable parts at a moment; None without one."""
        key = filters.open_rounds, filters.review, moment
        return self._once(key, lambda: next((part for part in reversed(self.usable(filters)) if moment.holds(*part[3:6])), None))

    def at(self, filters, moment):
        """(moment, (round, sown), RoundPart) of the latest of the usable parts at a moment, where there is one."""
        part = self.last(filters, moment)
        return [(moment, part[:2], part)] if part else []

    def of_all(self, filters):
        """(sown, (round, sown), RoundPart) of all usable parts."""
        return [(part.sown, part[:2], part) for part in self.usable(filters)]

    def of_ages(self, filters):
        """(age, (round, sown), RoundPart): of each age the latest of the usable parts."""
        key = filters.open_rounds, filters.review, "ages"
        return self._once(key, lambda: [(age, part[:2], part) for age, part in {part.age: part for part in self.usable(filters)}.items()])

    def numbers(self, filters):
        """The MomentNumbers of the usable parts."""
        key = filters.open_rounds, filters.review, "numbers"
        return self._once(key, lambda: MomentNumbers(*map(frozenset, zip(*(part[3:6] for part in self.usable(filters)), strict=True))))

    def not_complete(self, filters, moment):
        """The OpenRounds of a moment, and the latest round where it is one."""
        return self._once((filters.open_rounds, filters.review, moment, "open"), lambda: [*self._not_complete(filters, moment)])

    def _not_complete(self, filters, moment):
        used = self.last(filters, moment) if moment else None
        here = [part for part in self if moment and moment.holds(part.age, part.year, part.visit)]
        later = here[here.index(used) :] if used else here
        for part in dict.fromkeys([*later, self[-1]]):
            if part.why:
                yield OpenRound(part, part == used)

    def _once(self, key, work_out):
        found = self.__dict__
        if key not in found:
            if len(found) >= _HELD_OF_PARTS:  # somebody asks for one moment after another
                found.clear()
            found[key] = work_out()
        return found[key]


LABELS = attrgetter("round", "sown", "age", "year", "planting", "site", "jurisdiction", "why")


class PartColumns:
    """What follows from the labels of RoundParts alone (`LABELS`), which most writes leave as they were."""

    def __init__(self, parts):
        self.parts = [*parts]
        self._made = {}

    def once(self, name, work_out):
        """What follows from them under a name."""
        if name not in self._made:
            self._made[name] = work_out()
        return self._made[name]

    @cached_property
    def plantings(self):
        """(codes of plantings in the order of the first part of each, the number of that of each part, the first part of each)."""
        names = [part.planting for part in self.parts]
        numbers = {name: number for number, name in enumerate(dict.fromkeys(names))}
        planting_of = np.fromiter(map(numbers.__getitem__, names), dtype=np.int64, count=len(names))
        return [*numbers], planting_of, [self.parts[first] for first in np.unique(planting_of, return_index=True)[1].tolist()]

    def numbers(self, name):
        """The age or the calendar year of each part."""
        return self.once(name, lambda: np.fromiter(map(attrgetter(name), self.parts), dtype=np.int64, count=len(self.parts)))

    @cached_property
    def complete(self):
        """Whether each is complete."""
        return np.array([part.why == "" for part in self.parts], dtype=bool)


class Chosen(dict):
    """{(round, sown): RoundPart} that figures are made from, with the PartColumns of its parts: those of an earlier choice where their
    labels are the same. It must not be changed."""

    def __init__(self, found=(), columns=None):
        super().__init__(found)
        self.columns = columns or PartColumns(self.values())


_choices, _lock = OrderedDict(), threading.Lock()


def chosen_parts(name, by_planting, entries_of):
    """{group: Chosen} of `entries_of(PartsInTime)`, which gives (group, (round, sown), RoundPart), of all plantings.

    `name` tells one choice from another: it must have all that `entries_of` goes by.
    """
    if not are_held():
        return _chosen_of(by_planting, entries_of)
    earlier = _choices.get(name)
    found = earlier and _taken_again(*earlier, by_planting, entries_of)
    if found is None:
        found = _chosen_of(by_planting, entries_of)
    with _lock:
        _choices[name] = by_planting, found
        _choices.move_to_end(name)
        while len(_choices) > _CHOICES_MOST:
            _choices.popitem(last=False)
    return found


def _chosen_of(by_planting, entries_of):
    groups = {}
    for parts in by_planting.values():
        for group, key, part in entries_of(parts):
            groups.setdefault(group, {})[key] = part
    return {group: Chosen(chosen) for group, chosen in groups.items()}


def _taken_again(before, found, by_planting, entries_of):
    """What was found before, with the parts of the plantings that changed since; None where there are other plantings or rounds."""
    if [*before] != [*by_planting]:
        return None
    changed = [(old, new) for old, new in zip(before.values(), by_planting.values(), strict=True) if old is not new]
    if len(changed) > _CHANGED_MOST:
        return None
    parts, relabelled = {}, set()
    for old, new in changed:
        was, now = entries_of(old), entries_of(new)
        if [entry[:2] for entry in was] != [entry[:2] for entry in now]:
            return None
        for (group, key, earlier), (_group, _key, part) in zip(was, now, strict=True):
            parts.setdefault(group, {})[key] = part
            relabelled |= {group} if LABELS(earlier) != LABELS(part) else set()
    again = {
        group: Chosen({**found[group], **some}, None if group in relabelled else found[group].columns) for group, some in parts.items()
    }
    return found | again
