"""Small plantings for the tests of the results: counted plots make a group of any size in two calls."""

from plantings.calc.survival.census_choice import CensusChoice
from plantings.models import Planting
from plantings.selectors.survival.survival import survival_rows
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.trees import counted_plot_add
from tests import factories
from tests.people import everyone


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


def small_programme(name):
    """{role: person}. Two sites, one of this name: tagged trees with every kind of fate, checks and a buffer; counted plots, also of seed."""
    people = everyone()
    lead = people["lead"]
    mine, other = factories.site(code="MINE", name=name, partner=people["landowner"].partner), factories.site(code="OTHER")
    lot = factories.stock_lot(actor=lead, plants=900, declared_source="=Heron", code="LOT-A")
    native = factories.stock_lot(actor=lead, plants=900, generation_other="native", code="NATIVE")
    tagged = planting_on(mine)
    trees = factories.trees(tagged, lot, 12, actor=lead)
    factories.trees(tagged, lot, 2, role="buffer", row=3, actor=lead)
    checks = factories.trees(tagged, native, 6, role="check", row=2, actor=lead)
    one, two = factories.census_round(tagged, 1), factories.census_round(tagged, 2)
    factories.observe(one, dict(zip(trees, ["A"] * 9 + ["NF", "SU", "NL"], strict=True)), actor=lead)
    factories.observe(one, dict.fromkeys(checks, "A"), actor=lead)
    later = dict(zip(trees, ["A", "A", "AR", "A", "A", "A", "A", "NF", "NF", "NF", "A", "A"], strict=True))
    factories.observe(two, {tree: status for tree, status in later.items() if status == "NF"}, actor=lead)
    factories.observe(two, {tree: status for tree, status in later.items() if status != "NF"}, height_cm=120, actor=lead)
    factories.observe(two, {checks[0]: "D"}, cause="canker", actor=lead)
    factories.observe(two, dict.fromkeys(checks[1:], "A"), actor=lead)
    counted(planting_on(other), lot, 40, 31, season=2)
    counted(planting_on(other), native, 40, 22, role="check", season=2)
    counted(planting_on(other), factories.seed_lot(seeds=100, code="SEED"), 60, 21, season=2)
    return people
