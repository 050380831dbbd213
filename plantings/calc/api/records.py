"""Shapes of the records a person sees: sites, plantings and lots, and the long data tree by tree.

Source
------
Definition of this programme.
"""

from collections.abc import Iterable

from plantings.calc.api.common import AS_OF, NOT_IN_FIGURES, paged
from plantings.calc.api.fields import DAY, NUMBER, PART_DATE, TEXT, WHOLE, YES_NO, Field, Shape
from plantings.calc.survival import long_columns

SITE = Shape(
    "Site",
    "A place where trees are planted.",
    (
        Field("code", TEXT, "Code of the site."),
        Field("name", TEXT, "Its name; null where it is withheld.", lambda row, _all: row["name"] or None, null=True),
        Field("jurisdiction", TEXT, "State or province (ISO 3166-2); blank where it is not known."),
        Field("latitude", NUMBER, "Latitude (WGS 84); null without a position.", measured_in="°"),
        Field("longitude", NUMBER, "Longitude (WGS 84); null without a position.", measured_in="°"),
        Field("exact", YES_NO, "False where the position is generalised."),
    ),
)
SITES = Shape(
    "Sites",
    "The sites a person may see on the map, with their positions as exactly as the person may know them.",
    (
        AS_OF._replace(read=lambda _row, answer: answer["as_of"]),
        Field("hidden", WHOLE, "Sites left out because their landowner asked for that.", lambda _row, answer: answer["hidden"]),
        *paged(SITE, "The sites of this page, by code."),
    ),
)
ENTRY = Shape(
    "Entry",
    "A lot in one role in a planting.",
    (
        Field("lot", TEXT, "Code of the lot.", lambda row, _all: row[0]),
        Field("role", TEXT, "Why it was planted.", lambda row, _all: row[1], codes=("test", "check", "buffer", "filler")),
    ),
)
PLANTING = Shape(
    "Planting",
    "An established set of trees at a site.",
    (
        Field("code", TEXT, "Code of the planting."),
        Field("site", TEXT, "Code of its site."),
        Field("state", TEXT, "State of the planting."),
        Field("planted_on", PART_DATE, "Day of planting, or its month or year; null while it is planned.", null=True),
        Field("design", TEXT, "The design in words."),
        Field("spacing_m", NUMBER, "Distance between positions.", measured_in="m"),
        Field("entries", ENTRY, "Its lots in their roles; empty for who may not see which lot a tree is of.", many=True),
    ),
)
PLANTINGS = Shape("Plantings", "The plantings a person may see.", paged(PLANTING, "The plantings of this page, by code."))
LOT = Shape(
    "Lot",
    "Seed or plants of one origin, with its lineage at every level.",
    (
        Field("code", TEXT, "Code of the lot."),
        Field("kind", TEXT, "Seed, or plants.", codes=("seed", "stock")),
        Field("taxon", TEXT, "Scientific name."),
        Field("year", WHOLE, "Year the seed ripened, or was sown.", null=True),
        *(Field(column.name, TEXT, column.meaning) for column in long_columns.LOT_COLUMNS[1:6]),
    ),
)
LOTS = Shape("Lots", "The lots a person may see.", paged(LOT, "The lots of this page, by code."))
_TYPES = {
    long_columns.TEXT: TEXT,
    long_columns.WHOLE: WHOLE,
    long_columns.NUMBER: NUMBER,
    long_columns.DAY: DAY,
    long_columns.PART_DATE: PART_DATE,
}


def data_shape(columns: Iterable[long_columns.LongColumn]) -> Shape:
    """The long data: one object a row, with the columns of its data dictionary.

    Parameters
    ----------
    columns : iterable of LongColumn
        Those of the table and of the programme's own measurements.
    """
    fields = tuple(
        Field(column.name, _TYPES[column.type], f"{column.meaning} Codes: {column.codes}." if column.codes else column.meaning,
              lambda row, _all, name=column.name: row[name], measured_in=column.unit, null=True)
        for column in columns
    )  # fmt: skip
    row = Shape("DataRow", "One tree at one round, or one counted plot at one round.", fields)
    return Shape(
        "LongData",
        "The records behind survival, one row a tree and round. Read the pages in turn; an answer holds them planting by planting.",
        (
            AS_OF,
            Field(
                "plantings", WHOLE, "How many plantings are in the data.", lambda data, _all: len(data.plantings), measured_in="plantings"
            ),
            Field("next", TEXT, "Address of the next rows; null after the last.", lambda _row, answer: answer["next"], null=True),
            Field("rows", row, "The rows, in the order of plantings, trees and rounds.", lambda _row, answer: answer["rows"], many=True),
            *NOT_IN_FIGURES,
        ),
    )
