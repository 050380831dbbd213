"""Shapes of measurements and of growth.

Source
------
Definition of this programme; what the figures are: `calc.survival.measured` and `calc.growth.growth`.
"""

from plantings.calc.api.common import AS_OF, CLASS_SHAPE, LEVEL, MOMENT_SHAPE, NOT_IN_FIGURES, paged, place_fields
from plantings.calc.api.fields import NUMBER, TEXT, WHOLE, Field, Shape
from plantings.calc.api.fits import AGE_CHECK
from plantings.calc.api.lineages import POPULATION
from plantings.calc.api.survival import ROLE_FIELDS, difference_fields
from plantings.calc.survival.groups import CHECK, LEVELS, TEST
from plantings.calc.survival.table import STANDARDS

_LEVEL = LEVEL._replace(codes=tuple(LEVELS))
MEASURE_FIELDS = (
    Field("measure", TEXT, "The measurement, as in the parameter.", "item.field"),
    Field("unit", TEXT, "Its unit; null where it has none.", lambda table, _all: table.item.unit or None, null=True),
    Field("taken", TEXT, "How it is taken.", "item.taken"),
)


def _interval(place):
    return lambda row, _all: row.mean_interval and row.mean_interval[place]


def _classes(row, answer):
    """[{code, label, trees, share, low, high}] of a measurement in classes."""
    return [
        {
            "code": str(code), "label": label, "trees": row.classes.get(code, 0), "share": row.share(code),
            **dict(zip(("low", "high"), row.share_interval(code), strict=True)),
        }
        for code, label, _meaning in answer["table"].item.classes
    ]  # fmt: skip


MEASURED_ROW = Shape(
    "MeasuredRow",
    "One group of one role: the trees recorded alive that have a value.",
    (
        *place_fields(),
        *ROLE_FIELDS,
        Field("sites", WHOLE, "Sites with a value.", measured_in="sites"),
        Field("plantings", WHOLE, "Plantings with a value.", measured_in="plantings"),
        Field("trees", WHOLE, "Trees with a value.", "n", measured_in="trees"),
        Field("mean", NUMBER, "Mean, in the unit of the measurement; null of classes.", "spread.mean"),
        Field("mean_low", NUMBER, "Lower end of its 95 % interval.", _interval(0)),
        Field("mean_high", NUMBER, "Upper end of its 95 % interval.", _interval(1)),
        Field("deviation", NUMBER, "Standard deviation of the trees; null of one tree.", "spread.deviation"),
        Field("lowest", NUMBER, "Lowest value.", "spread.lowest"),
        Field("highest", NUMBER, "Highest value.", "spread.highest"),
        Field("classes", CLASS_SHAPE, "The trees of each class; empty of a number.", _classes, many=True),
    ),
)
MEASURED = Shape(
    "MeasuredTable",
    "One measurement by place and lineage at one moment, of the trees recorded alive.",
    (
        AS_OF,
        *MEASURE_FIELDS,
        Field("moment", MOMENT_SHAPE, "Which census the figures are made from; null where none is complete.", null=True),
        Field("by", TEXT, "What the rows are grouped by, in order.", many=True),
        _LEVEL,
        *paged(MEASURED_ROW, "The rows of this page."),
        *NOT_IN_FIGURES,
    ),
)


def _group(read):
    return lambda row, _all: read(row[0])


def _grown(name):
    return lambda row, _all: getattr(row[2], name)


GROWN_ROW = Shape(
    "GrownRow",
    "A lineage, or all checks of a kind, at one age.",
    (
        Field("lineage", TEXT, "The lineage; null of checks.", _group(lambda group: group.label or None), null=True),
        Field("role", TEXT, "Under test, or a check.", _group(lambda group: CHECK if group.standard else TEST), codes=(TEST, CHECK)),
        Field(
            "check_kind", TEXT, "Kind of check; null under test.", _group(lambda group: group.standard or None), codes=STANDARDS, null=True
        ),
        Field("growing_seasons", WHOLE, "The age.", lambda row, _all: row[1], measured_in="growing seasons"),
        Field("trees", WHOLE, "Trees with a value.", _grown("n"), measured_in="trees"),
        Field("sites", WHOLE, "Sites with a value.", _grown("sites"), measured_in="sites"),
        Field("mean", NUMBER, "Mean, in the unit of the measurement.", _grown("mean")),
        Field("low", NUMBER, "Lower end of its 95 % interval.", _grown("low")),
        Field("high", NUMBER, "Upper end of its 95 % interval.", _grown("high")),
        Field("note", TEXT, "Why the interval is missing; null where it is given.", lambda row, _all: row[2].reason or None, null=True),
        *difference_fields(lambda row: row[2].difference, "mean less that of the native check, in the unit of the measurement"),
    ),
)
NO_MODEL = Shape(
    "AgeWithoutModel",
    "An age whose model could not be fitted: its means are those of the trees.",
    (
        Field("growing_seasons", WHOLE, "The age.", lambda pair, _all: pair[0], measured_in="growing seasons"),
        Field("reason", TEXT, "Why.", lambda pair, _all: pair[1]),
    ),
)
GROWTH = Shape(
    "GrowthTable",
    "The growth of lineages beside the native checks, age by age.",
    (
        AS_OF,
        *MEASURE_FIELDS,
        _LEVEL,
        POPULATION,
        Field("no_model", NO_MODEL, "Ages without a model.", lambda table, _all: table.growth.no_model.items(), many=True),
        Field(
            "fit_checks", AGE_CHECK, "Whether the models describe the means.", lambda table, _all: table.growth.checks.items(), many=True
        ),
        *paged(GROWN_ROW, "The rows of this page: a lineage at an age each."),
        *NOT_IN_FIGURES,
    ),
)
