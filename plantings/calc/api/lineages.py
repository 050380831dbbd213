"""Shapes of lineages beside the native checks, and of their life tables.

Source
------
Definition of this programme; what the figures are: `calc.lineages.compare` and `calc.lifetimes.lineage_lives`.
"""

from plantings.calc.api.common import AS_OF, LEVEL, MOMENT_SHAPE, NOT_IN_FIGURES, POPULATIONS, paged, population
from plantings.calc.api.fields import MOMENT, NUMBER, TEXT, WHOLE, YES_NO, Field, Shape
from plantings.calc.api.fits import FIT_CHECK
from plantings.calc.api.survival import TOTAL_ROW, difference_fields
from plantings.calc.lineages.compare import BETA, MODEL, OBSERVED
from plantings.calc.survival.groups import LEVELS

POPULATION = Field(
    "population", TEXT, "Planted trees, or seed sown in place.", lambda table, _all: population(table.sown), codes=POPULATIONS
)
_LEVEL = LEVEL._replace(codes=tuple(LEVELS))


def _no_hazard(one, _all):
    return one.hazard.reason or None


_REASON = Field("cannot_tell", TEXT, "Why nothing can be told of it; null where it can.", lambda one, _all: one.reason or None, null=True)


def _compared(name):
    return lambda table, _all: getattr(table.comparison, name)


def _places(one, answer):
    return answer["order"].get(one.label)


def _shrunk_difference(one):
    return one.shrunk.difference if one.shrunk else None


SITE_MARK = Shape(
    "LineageAtSite",
    "A lineage on one site.",
    (
        Field("site", TEXT, "Code of the site."),
        Field("assessed", WHOLE, "Trees of the lineage assessed there.", "n", measured_in="trees"),
        Field("difference", NUMBER, "Survival there less that of the native check there; null without one."),
    ),
)
LINEAGE_ROW = Shape(
    "LineageRow",
    "One lineage under test beside the native checks on its sites.",
    (
        Field("lineage", TEXT, "The lineage.", "label"),
        Field("place", WHOLE, "Its place in the order, from 1; null where it has none.", _places, null=True),
        _REASON,
        Field("assessed", WHOLE, "Trees assessed.", "row.n", measured_in="trees"),
        Field("alive", WHOLE, "Trees alive.", "row.alive", measured_in="trees"),
        Field("survival", NUMBER, "Survival as observed, 0 to 1.", "row.share"),
        Field("low", NUMBER, "Lower end of its 95 % interval.", "row.low"),
        Field("high", NUMBER, "Upper end of its 95 % interval.", "row.high"),
        *difference_fields(lambda one: one.row.difference),
        Field("shrunken_survival", NUMBER, "Survival shrunken towards the mean, 0 to 1.", "shrunk.share"),
        Field("shrunken_low", NUMBER, "Lower end of its 95 % interval.", "shrunk.low"),
        Field("shrunken_high", NUMBER, "Upper end of its 95 % interval.", "shrunk.high"),
        *(
            field._replace(name=f"shrunken_{field.name}")
            for field in difference_fields(_shrunk_difference, "shrunken survival less that of the native check")
        ),
        Field("reliability", NUMBER, "0 (all chance) to 1; null without a model.", "shrunk.reliability"),
        Field("chance_best", NUMBER, "Chance to be in the best quarter.", "shrunk.best"),
        Field("chance_worst", NUMBER, "Chance to be in the worst quarter.", "shrunk.worst"),
        Field("odds_ratio", NUMBER, "Odds to be alive as a multiple of those of the native check, within sites.", "odds.ratio"),
        Field("odds_low", NUMBER, "Lower end of its 95 % interval.", "odds.low"),
        Field("odds_high", NUMBER, "Upper end of its 95 % interval.", "odds.high"),
        Field("odds_p", NUMBER, "p of Cochran, Mantel and Haenszel.", "odds.p"),
        Field("odds_p_holm", NUMBER, "That p adjusted after Holm for the lineages in the order.", "odds_holm"),
        Field("sites_agree_p", NUMBER, "p of Breslow and Day: that all sites have the same ratio.", "odds.alike_p"),
        Field("sites_agree_p_holm", NUMBER, "That p adjusted after Holm.", "alike_holm"),
        Field("sites", SITE_MARK, "Each site of the lineage.", many=True),
    ),
)
DEVIATION = Shape(
    "Deviation",
    "The standard deviation of a factor of the model.",
    (
        Field("factor", TEXT, "The factor.", lambda pair, _all: pair[0]),
        Field("deviation", NUMBER, "Its standard deviation on the logit scale.", lambda pair, _all: pair[1]),
    ),
)
LINEAGES = Shape(
    "LineageTable",
    "Lineages beside the native checks, in the order of a shrunken value.",
    (
        AS_OF,
        Field("moment", MOMENT_SHAPE, "Which census the figures are made from; null where none is complete.", null=True),
        _LEVEL,
        POPULATION,
        Field("method", TEXT, "What the order rests on.", _compared("method"), codes=(MODEL, BETA, OBSERVED)),
        Field("why_not_model", TEXT, "Why no better method was used.", _compared("why_not"), many=True),
        Field("model_made", MOMENT, "When the model was fitted; null without one.", null=True),
        Field(
            "deviations", DEVIATION, "Standard deviations of the model.", lambda table, _all: table.comparison.deviations.items(), many=True
        ),
        Field("singular", TEXT, "Factors without any variation of their own.", _compared("singular"), many=True),
        Field("fit_check", FIT_CHECK, "Whether the model describes the counts; null without one.", _compared("check"), null=True),
        Field("best_quarter", WHOLE, "How many lineages are the best quarter.", _compared("places")),
        Field("checks", TOTAL_ROW, "The checks.", _compared("checks"), many=True),
        *paged(LINEAGE_ROW, "The lineages of this page: those in the order first, best first."),
        *NOT_IN_FIGURES,
    ),
)


def _step(name):
    return lambda pair, _all: getattr(pair[1], name)


def _steps(name):
    return lambda one, answer: zip(answer["ages"], getattr(one, name), strict=False)


STEP = Shape(
    "LifeStep",
    "One age of a life table.",
    (
        Field("growing_seasons", WHOLE, "The age.", lambda pair, _all: pair[0], measured_in="growing seasons"),
        Field("at_risk", WHOLE, "Trees at risk in the interval that ends there.", _step("at_risk"), measured_in="trees"),
        Field("gone", WHOLE, "Trees of them gone.", _step("deaths"), measured_in="trees"),
        Field("survival", NUMBER, "Survival from planting to there, 0 to 1.", _step("share")),
        Field("standard_error", NUMBER, "Its standard error.", _step("error")),
        Field("low", NUMBER, "Lower end of its 95 % band.", _step("low")),
        Field("high", NUMBER, "Upper end of its 95 % band.", _step("high")),
    ),
)
LIFE_ROW = Shape(
    "LifeTable",
    "The life of one lineage from planting on, beside the native checks in the same plantings.",
    (
        Field("lineage", TEXT, "The lineage.", "label"),
        Field("trees", WHOLE, "Trees planted.", measured_in="trees"),
        Field("sites", WHOLE, "Sites.", measured_in="sites"),
        Field("interval_censored", YES_NO, "True where looks are more than one census apart; curve and test allow for it.", "gaps"),
        Field("steps", STEP, "The life table of the lineage.", _steps("steps"), many=True),
        Field("check_steps", STEP, "That of the native checks.", _steps("check"), many=True),
        Field("hazard_ratio", NUMBER, "Hazard as a multiple of that of the native check.", "hazard.ratio"),
        Field("hazard_low", NUMBER, "Lower end of its 95 % interval.", "hazard.low"),
        Field("hazard_high", NUMBER, "Upper end of its 95 % interval.", "hazard.high"),
        Field("odds_ratio", NUMBER, "Odds to die in an interval as a multiple of the native check's.", "hazard.odds"),
        Field("constant_p", NUMBER, "p that the ratio of hazards is the same at all ages.", "hazard.constant_p"),
        Field("hazard_note", TEXT, "Why the ratio is missing; null where it is given.", _no_hazard, null=True),
        Field("chi_square", NUMBER, "Log-rank test within sites.", "test.chi_square"),
        Field("p", NUMBER, "Its p.", "test.p"),
        Field("early_p", NUMBER, "p of the test with more weight on early deaths.", "early.p"),
        Field("p_holm", NUMBER, "p adjusted after Holm for the number of lineages.", "holm"),
        Field("p_benjamini_hochberg", NUMBER, "p adjusted after Benjamini and Hochberg.", "bh"),
        _REASON._replace(name="test_note", meaning="Why the test is missing; null where it is given."),
    ),
)  # fmt: skip
LIVES = Shape(
    "LifeTables",
    "At which age each lineage loses its trees, beside the native checks in the same plantings.",
    (
        AS_OF,
        _LEVEL,
        POPULATION,
        Field("ages", WHOLE, "The ages of the life tables.", "lives.ages", measured_in="growing seasons", many=True),
        Field("skipped", TEXT, "Plantings that lack a census of an age between two they have.", "lives.skipped", many=True),
        *paged(LIFE_ROW, "The lineages of this page, by label."),
        *NOT_IN_FIGURES,
    ),
)
