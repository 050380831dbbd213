"""Shape of the check of a model.

Source
------
Definition of this programme; what the figures are: `calc.fits.check`.
"""

from plantings.calc.api.fields import NUMBER, TEXT, WHOLE, YES_NO, Field, Shape

FAR_CELL = Shape(
    "FurthestCell",
    "The count or mean furthest from what the model expects of it from the others.",
    (
        Field("lineage", TEXT, "The lineage; null of checks.", lambda cell, _all: cell.label or None, null=True),
        Field("check_kind", TEXT, "Kind of check; null under test.", lambda cell, _all: cell.standard or None, null=True),
        Field("site", TEXT, "Code of the site."),
        Field(
            "planting",
            TEXT,
            "Code of the planting; null of means, which are of a site.",
            lambda cell, _all: cell.planting or None,
            null=True,
        ),
        Field("trees", WHOLE, "Trees assessed, or measured.", "n", measured_in="trees"),
        Field("observed", NUMBER, "Trees alive, or the mean."),
        Field("expected", NUMBER, "What the model expects from the others."),
    ),
)
FIT_CHECK = Shape(
    "FitCheck",
    "Whether the model describes what it was fitted to.",
    (
        Field("fits", YES_NO, "False where a right model would fail a test so in fewer than 5 of 100 cases."),
        Field("can_tell", YES_NO, "False where there are too few cells: then that it fits says little."),
        Field("cells", WHOLE, "Counts of a lineage or check on a planting, or means on a site, that were checked."),
        Field(
            "beyond_two_errors", WHOLE, "How many lie more than two standard errors from what the model expects from the others.", "beyond"
        ),
        Field("beyond_expected", NUMBER, "How many would by chance.", "expected"),
        Field("beyond_p", NUMBER, "p for so many or more (Poisson)."),
        Field("furthest", FAR_CELL, "The furthest."),
        Field("furthest_p", NUMBER, "Its p, adjusted after Bonferroni."),
        Field("skewness", NUMBER, "Skewness of the residuals of means; null of counts."),
        Field("skewness_p", NUMBER, "Its p (D'Agostino)."),
    ),
)
AGE_CHECK = Shape(
    "FitCheckOfAge",
    "Whether the model of an age describes the means.",
    (
        Field("growing_seasons", WHOLE, "The age.", lambda pair, _all: pair[0], measured_in="growing seasons"),
        Field("check", FIT_CHECK, "The check.", lambda pair, _all: pair[1]),
    ),
)
