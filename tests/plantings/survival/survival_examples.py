"""Small plantings for the tests of the results: counted plots make a group of any size in two calls."""

from plantings.calc.survival.census_choice import CensusChoice
from plantings.models import Planting
from plantings.selectors.survival.survival import survival_rows
from plantings.services.census import plot_count_record
from plantings.services.trees import counted_plot_add
from tests import factories


def planting_on(site, crew=()):
    """A planting on this site and no other: the factory makes a spare site besides, which a map would show."""
    planting = Planting.objects.create(
        code=f"PL{factories.number()}", site=site, planted_on=factories.day(2019, 4, 20), state="established", supply="before_records"
    )
    planting.crew.set(crew)
    return planting


def round_of(planting, season=1):
    return planting.rounds.filter(growing_seasons=season).first() or factories.census_round(planting, season)


def counted(planting, lot, planted, alive, *, role="test", season=1, dead=None):
    """`alive` of `planted` trees counted at one age; the rest are dead unless `dead` says how many are."""
    actor = factories.person()
    plot = counted_plot_add(actor=actor, planting=planting, code=f"D{factories.number()}", lot=lot, planted_count=planted, role=role)
    when = round_of(planting, season)
    dead = planted - alive if dead is None else dead
    plot_count_record(actor=actor, census_round=when, plot=plot, alive=alive, dead=dead, observed_on=when.opens_on)
    return plot


def count_again(plot, season, alive, dead=0):
    when = round_of(plot.planting, season)
    return plot_count_record(actor=factories.person(), census_round=when, plot=plot, alive=alive, dead=dead, observed_on=when.opens_on)


def figures(user=None, by=("lineage",), level="lot", season=None, **options):
    """{(*keys, role in words): row} of the survival table, at one age if `season` says which."""
    moment = options.pop("moment", None) or (CensusChoice("age", season) if season is not None else None)
    table = survival_rows(user or factories.person(), by, level, moment, **options)
    return {(*row.keys, row.role_words): row for row in table.rows}
