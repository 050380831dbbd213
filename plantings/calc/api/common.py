"""Shapes that several answers share: which census is shown, and what is not in the figures and why.

Source
------
Definition of this programme.
"""

from plantings.calc.api.fields import DAY, NUMBER, TEXT, WHOLE, YES_NO, Field, Shape
from plantings.calc.survival.census_choice import AGE, LATEST, SEASON, VISIT
from plantings.calc.survival.completeness import OPEN, THIN

POPULATIONS = ("planted", "sown")


def population(sown: bool) -> str:
    """The code of a population."""
    return POPULATIONS[bool(sown)]


MOMENT_SHAPE = Shape(
    "Moment",
    "The census of each planting that figures are made from.",
    (
        Field("code", TEXT, "As it is written in the parameter at: age-3, season-2025, visit-2 or latest."),
        Field("kind", TEXT, "What plantings are compared by.", codes=(AGE, SEASON, VISIT, LATEST)),
        Field("number", WHOLE, "Growing seasons completed, calendar year or visit; null for the latest census of each.", null=True),
    ),
)
LEFT_OUT = Shape(
    "LeftOut",
    "An established planting that is not in the figures.",
    (
        Field("planting", TEXT, "Code of the planting."),
        Field("site", TEXT, "Code of its site."),
        Field("reason", TEXT, "Why it is left out, in words."),
    ),
)
NOT_COMPLETE = Shape(
    "NotComplete",
    "A census round that is not a result yet: still open, or thinly visited.",
    (
        Field("planting", TEXT, "Code of the planting.", "part.planting"),
        Field("site", TEXT, "Code of its site.", "part.site"),
        Field("population", TEXT, "Planted as trees, or sown as seed.", lambda row, _all: population(row.part.sown), codes=POPULATIONS),
        Field("round", TEXT, "Label of the round.", "part.label"),
        Field("growing_seasons", WHOLE, "The age at that round.", "part.age", measured_in="growing seasons"),
        Field("why", TEXT, "Still open, or thinly visited.", "part.why", codes=(OPEN, THIN)),
        Field("closes_on", DAY, "Last day of the round.", "part.closes_on"),
        Field("assessed", WHOLE, "Positions assessed so far.", "part.progress.assessed", measured_in="positions"),
        Field("countable", WHOLE, "Positions that can be assessed.", "part.progress.countable", measured_in="positions"),
        Field("unread_records", WHOLE, "Records of it that nobody has accepted yet.", "part.unread", measured_in="records"),
        Field("in_figures", YES_NO, "Whether it is in the figures all the same, because the parameter open says so.", "shown"),
    ),
)
WAITING = Shape(
    "Waiting",
    "A round of which no record counts before its review.",
    (
        Field("planting", TEXT, "Code of the planting."),
        Field("site", TEXT, "Code of its site."),
        Field("round", TEXT, "Label of the round.", "label"),
        Field("records", WHOLE, "How many records wait.", measured_in="records"),
    ),
)
CLASS_SHAPE = Shape(
    "ClassShare",
    "The trees of one class.",
    (
        Field("code", TEXT, "Code of the class."),
        Field("label", TEXT, "The class in words."),
        Field("trees", WHOLE, "Trees with this class.", measured_in="trees"),
        Field("share", NUMBER, "Share of the trees with a value, 0 to 1."),
        Field("low", NUMBER, "Lower end of its 95 % interval."),
        Field("high", NUMBER, "Upper end of its 95 % interval."),
    ),
)
AS_OF = Field("as_of", DAY, "The day the figures were made.")
LEVEL = Field("level", TEXT, "The level that a lineage is taken at.")
NOT_IN_FIGURES = (
    Field("left_out", LEFT_OUT, "Established plantings that are not in the figures, and why.", many=True),
    Field("not_complete", NOT_COMPLETE, "Rounds that are not results yet.", many=True),
    Field("waiting", WAITING, "Rounds of which no record counts before its review.", many=True),
    Field("unread_records", WHOLE, "Records of the censuses behind the figures that nobody has accepted.", "unread", measured_in="records"),
    Field("unread_counted", YES_NO, "Whether records that nobody has accepted count in the figures.", "unread_count"),
)


def paged(row: Shape, meaning: str) -> tuple[Field, ...]:
    """The fields of an answer that comes in pages: `rows` of a shape, how many there are, and the address of the next page."""
    return (
        Field("count", WHOLE, "How many rows there are in all.", lambda _row, answer: answer["page"].count),
        Field("page", WHOLE, "Number of this page, from 1.", lambda _row, answer: answer["page"].number),
        Field("pages", WHOLE, "How many pages there are.", lambda _row, answer: answer["page"].pages),
        Field("next", TEXT, "Address of the next page; null on the last one.", lambda _row, answer: answer["page"].next, null=True),
        Field("rows", row, meaning, lambda _row, answer: answer["page"].rows, many=True),
    )


def place_fields() -> tuple[Field, ...]:
    """The labels that a row is grouped by; null where the answer is not grouped by that."""

    def key(word):
        def read(row, answer):
            by = answer["table"].by
            return row.keys[by.index(word)] if word in by else None

        return read

    def site_name(row, answer):
        site = key("site")(row, answer)
        return None if site is None else answer["table"].site_names.get(site)

    return (
        Field("site", TEXT, "Code of the site.", key("site"), null=True),
        Field("site_name", TEXT, "Name of the site.", site_name, null=True),
        Field("planting", TEXT, "Code of the planting.", key("planting"), null=True),
        Field("jurisdiction", TEXT, "State or province (ISO 3166-2), or not known.", key("jurisdiction"), null=True),
        Field("lineage", TEXT, "The lineage at the level of the answer.", key("lineage"), null=True),
    )
