"""Lives of lineages beside the native checks, read from the tallies of every age."""

import datetime
from dataclasses import dataclass, replace

from django.utils import timezone

from plantings.calc.lifetimes.lineage_lives import Lives, lineage_lives
from plantings.calc.survival.census_choice import AGE
from plantings.calc.survival.groups import LINEAGE
from plantings.models import Planting
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.curves import AgeTallies
from plantings.selectors.survival.models import LifeModels
from plantings.selectors.survival.rounds import LeftOut, OpenRound, WaitingRound, left_out, rounds_in_scope
from plantings.selectors.survival.survival import checked_groups
from registry.selectors.jobs.answers import AwaitedAnswer, Question, question_of
from registry.selectors.shared.held_answers import held_until_change

__all__ = ["LifeTables", "SiteTables", "life_model", "lineage_lifetimes", "site_lifetimes"]


@dataclass(frozen=True, slots=True)
class LifeTables(RecordsBehind):
    """The lives at a level of lineage. `left_out`, `not_complete` and `waiting` are the plantings and rounds that no figure is made from,
    the last because no record of theirs counts before its review, unless `unread_count`. `question` is that of tables so large that a job
    works them out, None of any others; while its answer is `awaited` they are plain, or those of earlier records."""

    level: str
    lives: Lives
    sown: bool
    left_out: tuple[LeftOut, ...]
    not_complete: tuple[OpenRound, ...]
    waiting: tuple[WaitingRound, ...]
    as_of: datetime.date
    question: Question | None = None
    awaited: AwaitedAnswer | None = None


@dataclass(frozen=True, slots=True)
class SiteTables:
    """The sites that have a lineage under test, each with its plantings, and where the tallies of their life tables are read."""

    tables: LifeTables
    plantings: dict[str, set[str]]
    tallies: AgeTallies

    @property
    def sites(self):
        return tuple(self.plantings)

    def lives_at(self, sites):
        """{site: lives of its lineages} of some sites. One query."""
        read = self.tallies.by_age(set().union(*(self.plantings[site] for site in sites)))
        found = {site: {} for site in sites}
        for age, tallies in read.items():
            for tally in tallies:
                if tally.sown == self.tables.sown:
                    found[tally.site].setdefault(age, []).append(tally)
        return {site: lineage_lives(by_age) for site, by_age in found.items()}


@held_until_change
def lineage_lifetimes(user, level, filters, *, sown=False, at_once=True):
    """The life tables of the lineages a person may see, from complete rounds; `level` and `filters` as in `survival_rows`.

    A page that does not wait for large ones asks without `at_once`, and looks at `awaited`.
    """
    return _modelled(user, level, filters, sown, at_once)[0]


def life_model(user, level, filters, *, sown=False, say=None):
    """Those life tables as they are to be stored, None where the stored ones are of the same records, or small."""
    return _modelled(user, level, filters, sown, True, say)[1].worked_out


def _modelled(user, level, filters, sown, at_once, say=None):
    """(LifeTables, LifeModels)."""
    tables, tallies = _life_tables(user, level, filters, sown)
    by_age = {age: found.of_roles(lambda _role, _standard, is_sown: is_sown == sown) for age, found in tallies.by_age().items()}
    choices = {"of": "lives", "level": level, "sown": sown, "filters": filters.given}
    models = LifeModels(question_of(user, Planting, choices), at_once=at_once, say=say)
    lives = models.lives(by_age)
    return replace(tables, lives=lives, question=models.question if models.is_large else None, awaited=models.awaited), models


@held_until_change
def site_lifetimes(user, level, filters, *, sown=False):
    """The same site by site: only the sites that somebody looks at are read and worked out."""
    tables, tallies = _life_tables(user, level, filters, sown)
    return SiteTables(tables, tallies.sites(sown), tallies)


def _life_tables(user, level, filters, sown):
    """LifeTables without lives, and the AgeTallies to make them from."""
    by = checked_groups((LINEAGE,), level)
    rounds = rounds_in_scope(user, filters)
    ages = tuple(age for age, _ in rounds.numbers(AGE) if age)
    tallies = AgeTallies(user, by, level, filters, rounds, ages)
    tables = LifeTables(
        level=level, lives=Lives(ages, (), ()), sown=sown, left_out=left_out(user, filters, rounds, tallies.every),
        not_complete=rounds.not_complete(None), waiting=rounds.waiting, as_of=timezone.localdate(),
        **records_behind(user, rounds, tallies.every.values()),
    )  # fmt: skip
    return tables, tallies
