"""Shapes of the survival table.

Source
------
Definition of this programme; what the figures are: `calc.survival.table`.
"""

from collections.abc import Callable

from plantings.calc.api.common import (
    AS_OF,
    LEVEL,
    MOMENT_SHAPE,
    NOT_IN_FIGURES,
    POPULATIONS,
    paged,
    place_fields,
    population,
)
from plantings.calc.api.fields import NUMBER, TEXT, WHOLE, YES_NO, Field, Shape
from plantings.calc.survival.groups import CHECK, LEVELS, TEST
from plantings.calc.survival.table import BINOMIAL, OVER_SITES, STANDARDS
from plantings.calc.survival.tallies import COUNT_NAMES

# what each count of trees is, in the words of Help
_COUNT_WORDS = {
    "planted": "Planted under test, or as a check; no buffers, fillers or replacements.",
    "alive": "Alive: the numerator of survival.",
    "resprout": "Of those alive, alive by resprout.",
    "dead": "Recorded dead.",
    "presumed_dead": "Not found at two rounds running.",
    "not_found": "Not found once: assessed and not alive.",
    "unclear": "Seen in an unclear state: not assessed.",
    "not_located": "Position not located: not assessed.",
    "not_visited": "Not visited: not assessed.",
    "removed": "Removed for a biological reason: assessed and not alive.",
    "removed_excluded": "Removed for a reason that is not biological: not assessed.",
    "alive_then": "Alive by the records up to that round, without hindsight.",
    "assessed_then": "Assessed by the records up to that round, without hindsight.",
    "canker_assessed": "Looked at for cankers.",
    "cankered": "With a canker.",
}


def _check_kind(row, _all):
    return row.standard or None


def _population(row, _all):
    return population(row.sown)


ROLE_FIELDS = (
    Field("role", TEXT, "Under test, or a check.", codes=(TEST, CHECK)),
    Field("check_kind", TEXT, "Kind of check by its species; null under test.", _check_kind, codes=STANDARDS, null=True),
    Field("population", TEXT, "Planted as trees, or sown as seed. Never add the two.", _population, codes=POPULATIONS),
)  # fmt: skip


def difference_fields(
    read: Callable = lambda row: row.difference, of: str = "survival less that of the checks on the same sites"
) -> tuple[Field, ...]:
    """The fields of a difference with its interval.

    Parameters
    ----------
    read : callable
        What finds the Difference of a row; it gives None where a row has none.
    of : str
        What the difference is, in words.
    """

    def part(name):
        return lambda row, _all: getattr(read(row), name, None)

    def note(row, _all):
        return getattr(read(row), "reason", "") or None

    return (
        Field("difference", NUMBER, f"The {of}; null where it cannot be told.", part("estimate")),
        Field("difference_low", NUMBER, "Lower end of its 95 % interval.", part("low")),
        Field("difference_high", NUMBER, "Upper end of its 95 % interval.", part("high")),
        Field("difference_note", TEXT, "Why it or its interval is missing, or how to read it.", note, null=True),
    )  # fmt: skip


def _unread(row, answer):
    of = answer["table"].unread_of
    return sum(of.get((planting, row.sown), 0) for planting in row.plantings)


FIGURE_FIELDS = (
    *ROLE_FIELDS,
    Field("complete", YES_NO, "False where a round that is open or thinly visited is in the row."),
    Field("sites", WHOLE, "How many sites are in the row.", lambda row, _all: len(row.sites), measured_in="sites"),
    Field("plantings", WHOLE, "How many plantings are in the row.", lambda row, _all: len(row.plantings), measured_in="plantings"),
    Field("assessed", WHOLE, "Trees assessed: the denominator of survival.", "n", measured_in="trees or seeds"),
    Field("countable", WHOLE, "Planted less those removed for reasons that are not biological.", measured_in="trees or seeds"),
    *(Field(name, WHOLE, _COUNT_WORDS[name], f"counts.{name}", measured_in="trees or seeds") for name in COUNT_NAMES),
    Field("survival", NUMBER, "Alive of those assessed, 0 to 1; null where nobody was assessed.", "share"),
    Field("low", NUMBER, "Lower end of the 95 % interval."),
    Field("high", NUMBER, "Upper end of the 95 % interval."),
    Field("method", TEXT, "How the interval is made.", codes=(BINOMIAL, OVER_SITES)),
    Field("interval_holds", YES_NO, "False near 0 or 1, where an interval over sites may be too narrow.", "holds"),
    Field("standard_error", NUMBER, "Standard error over sites; null on one site."),
    Field("design_effect", NUMBER, "How many times the variance over sites is that of independent trees; null on one site."),
    Field("band_low", NUMBER, "Survival if every tree that was not seen is dead."),
    Field("band_high", NUMBER, "Survival if every tree that was not seen is alive."),
    Field("count_leads", YES_NO, "True under 10 trees: read the count, not the share."),
    Field("note", TEXT, "Why the figure is missing; null where it is given.", lambda row, _all: row.reason or None, null=True),
    *difference_fields(),
    Field("checks", TEXT, "Codes of the lots it is compared with.", lambda row, _all: row.checks.lots if row.checks else (), many=True),
    Field("checks_alive", WHOLE, "Trees of them alive.", "checks.alive", measured_in="trees or seeds", null=True),
    Field("checks_assessed", WHOLE, "Trees of them assessed.", "checks.n", measured_in="trees or seeds", null=True),
    Field("disease_pressure", NUMBER, "Share of the native check on the same sites with a canker, 0 to 1.", "pressure.share"),
    Field("pressure_low", NUMBER, "Lower end of its 95 % interval.", "pressure.interval.low"),
    Field("pressure_high", NUMBER, "Upper end of its 95 % interval.", "pressure.interval.high"),
    Field("pressure_assessed", WHOLE, "Trees of it looked at for cankers.", "pressure.assessed", measured_in="trees or seeds", null=True),
    Field("pressure_cankered", WHOLE, "Trees of it with a canker.", "pressure.cankered", measured_in="trees or seeds", null=True),
    Field(
        "pressure_note",
        TEXT,
        "Why the disease pressure is missing; null where it is given.",
        lambda row, _all: row.pressure_reason or None,
        null=True,
    ),
)
TOTAL_ROW = Shape("SurvivalTotal", "Everything in one role together.", FIGURE_FIELDS)
SURVIVAL_ROW = Shape(
    "SurvivalRow",
    "One group of one role, with its survival.",
    (*place_fields(), *FIGURE_FIELDS, Field("unread_records", WHOLE, "Records behind the row that nobody has accepted yet.", _unread)),
)
AGE_SHAPE = Shape(
    "AgeOnFile",
    "An age that plantings have a complete census of.",
    (
        Field("growing_seasons", WHOLE, "The age.", lambda pair, _all: pair[0], measured_in="growing seasons"),
        Field("plantings", WHOLE, "How many plantings have it.", lambda pair, _all: pair[1], measured_in="plantings"),
    ),
)
SURVIVAL = Shape(
    "SurvivalTable",
    "Survival at one moment by place and lineage, with intervals and beside the checks.",
    (
        AS_OF,
        Field("moment", MOMENT_SHAPE, "Which census the figures are made from; null where none is complete.", null=True),
        Field("by", TEXT, "What the rows are grouped by, in order.", many=True),
        Field("level", TEXT, LEVEL.meaning, codes=tuple(LEVELS)),
        Field("ages", AGE_SHAPE, "Ages to choose from.", many=True),
        Field("complete_percent", WHOLE, "Share of the positions that must be assessed for a complete census.", measured_in="%"),
        Field("totals", TOTAL_ROW, "Everything together, each role and population apart.", many=True),
        *paged(SURVIVAL_ROW, "The rows of this page."),
        *NOT_IN_FIGURES,
    ),
)
