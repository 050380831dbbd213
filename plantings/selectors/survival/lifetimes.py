"""Lives of lineages beside the native checks, read from the tallies of every age."""

import datetime
from dataclasses import dataclass

from django.utils import timezone

from plantings.calc.lifetimes.lineage_lives import Lives, lineage_lives
from plantings.calc.survival.census_choice import AGE, CensusChoice
from plantings.calc.survival.groups import LINEAGE, TEST
from plantings.calc.survival.table import Tally
from plantings.selectors.survival.rounds import LeftOut, OpenRound, WaitingRound, left_out, rounds_in_scope
from plantings.selectors.survival.survival import GroupLabels, checked_groups, read_tallies

__all__ = ["LifeTables", "SiteTables", "lineage_lifetimes", "site_lifetimes"]


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


@dataclass(frozen=True, slots=True)
class SiteTables:
    """The sites that have a lineage under test, and the tallies of each age that their life tables are made from."""

    tables: LifeTables
    sites: tuple[str, ...]
    by_age: dict[int, list[Tally]]

    def lives_at(self, site):
        """The lives of the lineages of one site."""
        here = {age: [tally for tally in tallies if tally.site == site] for age, tallies in self.by_age.items()}
        return lineage_lives({age: tallies for age, tallies in here.items() if tallies})


def lineage_lifetimes(user, level, filters, *, sown=False):
    """The life tables of the lineages a person may see, from complete rounds; `level` and `filters` as in `survival_rows`."""
    return _life_tables(user, level, filters, sown, lineage_lives)[0]


def site_lifetimes(user, level, filters, *, sown=False):
    """The same site by site: only the sites that somebody looks at are worked out."""
    tables, by_age = _life_tables(user, level, filters, sown, lambda by_age: Lives(tuple(sorted(by_age)), (), ()))
    sites = sorted({tally.site for tallies in by_age.values() for tally in tallies if tally.role == TEST})
    return SiteTables(tables, tuple(sites), by_age)


def _life_tables(user, level, filters, sown, lives_of):
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
    tables = LifeTables(
        level=level, lives=lives_of(by_age), sown=sown, left_out=left_out(user, filters, rounds, every),
        not_complete=rounds.not_complete(None), waiting=rounds.waiting, unread_count=rounds.unread_count, as_of=timezone.localdate(),
    )  # fmt: skip
    return tables, by_age
