"""The intervals that the site prints: the function that makes each, where it is read, and the names under which its coverage is measured.

`tests/project/test_printed_intervals.py` fails for a function of the site that makes an interval and is not here, and for a name here that
`COVERAGE.md` has no row of.
"""

from typing import NamedTuple

from tests.simulation.model import NAMES as MODEL_NAMES


class Printed(NamedTuple):
    """One function that makes an interval; `names` are those of its pairs."""

    function: str
    where: str
    names: tuple[str, ...]


PRINTED = (
    Printed("wilson", "survival, counts of sown plots, disease pressure and classes on one site", ("survival on one site", "disease pressure on one site")),
    Printed("wilson_interval", "seed tests, plants culled, second measurements against their target", ("survival on one site",)),
    Printed("clopper_pearson", "lineages of fewer than five trees", ("survival of few trees, exact",)),
    Printed("newcombe_difference", "the page for a landowner", ("difference from the native checks on one site",)),
    Printed(
        "share_over_sites", "survival, disease pressure and classes over several sites",
        ("survival over sites", "disease pressure over sites", "share of a class over sites"),
    ),
    Printed("difference_over_sites", "survival beside the checks, lineages, the donor check", ("difference from the native checks",)),
    Printed("odds_over_sites", "lineages", ("odds within sites, these sites", "odds within sites, all sites there could be")),
    Printed("lineage_values", "lineages, one lineage, mothers", ("shrunken share", "shrunken difference from the native check")),
    Printed("shrunken_shares", "lineages without a model", ("share shrunken by a beta distribution",)),
    Printed("family_heritability", "mothers", ("heritability, observed scale", "heritability, liability")),
    Printed("life_table", "lives on one site", ("life table, on one site",)),
    Printed("band_over_sites", "lives over sites", ("life table, over sites",)),
    Printed(
        "interval_band", "lives, where a census was missed",
        ("curve of interval-censored deaths, over sites", "curve of interval-censored deaths, on one site"),
    ),
    Printed("hazard_ratio", "lives", ("ratio of hazards",)),
    Printed("growth_of", "growth", ("mean height by the model", "mean height without a model", "difference of heights from the native check")),
    Printed("mean_interval", "measurements by site and lineage", ("mean of a measurement over sites",)),
    Printed("kappa", "second measurements, pages keyed twice", ("kappa of statuses", "kappa of classes, linear weights")),
    Printed("bias_and_spread", "second measurements", ("limits of agreement, the next tree",)),
    Printed("intraclass_correlations", "second measurements, without its interval", ("intraclass correlation",)),
)  # fmt: skip
# spans that COVERAGE.md has besides: a band that is not an interval of 95 %, and what the shrunken values are made of
BAND, BEHIND = "band over unaccounted trees", MODEL_NAMES
# and what it says of chances and tests
TOLD = ("Chance to be in the best quarter", "p under 0.05")
