"""Lives of lineages beside the native checks, read from the tallies of every age."""

import datetime
from dataclasses import dataclass

from django.utils import timezone

from plantings.calc.lifetimes.lineage_lives import Lives, lineage_lives
from plantings.calc.survival.census_choice import AGE, CensusChoice
from plantings.calc.survival.groups import LINEAGE
from plantings.selectors.survival.rounds import LeftOut, OpenRound, WaitingRound, left_out, rounds_in_scope
from plantings.selectors.survival.survival import GroupLabels, checked_groups, read_tallies

__all__ = ["LifeTables", "lineage_lifetimes"]


@dataclass(frozen=True, slots=True)
class LifeTables:
    """The lives at a level of lineage. `left_out`, `not_complete` and `waiting` are the plantings and rounds that no figure is made from,
    the last because no record of theirs counts before its review, unless `unread_count`."""

    level: str
    lives: Lives
    sown: bool
    left_out: tuple[LeftOut, ...]
    not_complete: tuple[OpenRound, ...]
    waiting: tuple[WaitingRound, ...]
    unread_count: bool
    as_of: datetime.date


def lineage_lifetimes(user, level, filters, *, sown=False):
    """The life tables of the lineages a person may see, from complete rounds; `level` and `filters` as in `survival_rows`."""
    by = checked_groups((LINEAGE,), level)
    rounds = rounds_in_scope(user, filters)
    moments = [CensusChoice(AGE, age) for age, _ in rounds.numbers(AGE) if age]
    chosen = [rounds.chosen(moment) for moment in moments]
    every = {key: part for rounds_of_age in chosen for key, part in rounds_of_age.items()}
    labels = GroupLabels(by, level, filters)
    read = read_tallies(user, filters, every, moments)
    by_age = {
        moment.number: [tally for tally in labels.tallies(read, rounds_of_age) if tally.sown == sown]
        for moment, rounds_of_age in zip(moments, chosen, strict=True)
    }
    return LifeTables(
        level=level, lives=lineage_lives(by_age), sown=sown, left_out=left_out(user, filters, rounds, every),
        not_complete=rounds.not_complete(None), waiting=rounds.waiting, unread_count=rounds.unread_count, as_of=timezone.localdate(),
    )  # fmt: skip
