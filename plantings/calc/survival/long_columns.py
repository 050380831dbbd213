"""The columns of the long data, one row a tree and round and one a counted plot and round: the dictionary that goes with it."""

from collections.abc import Iterable
from typing import NamedTuple

from plantings.calc.census.codes import CAUSES_BY_STATUS, STATUSES
from plantings.calc.census.fate import Fate
from plantings.calc.census.measurements import Measurement

TEXT, WHOLE, NUMBER, DAY, PART_DATE = "text", "whole number", "number", "day (ISO 8601)", "day, month or year (ISO 8601)"
YES_NO = "yes, no"
TREE, PLOT = "tree", "plot"


class LongColumn(NamedTuple):
    """A column: its name, type, unit and codes (blank where it has none), and what it means."""

    name: str
    type: str
    unit: str
    codes: str
    meaning: str


def fate_code(fate: Fate) -> str:
    """The code of a fate in the long data.

    Parameters
    ----------
    fate : Fate

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> fate_code(Fate.ALIVE_RESPROUT), fate_code(Fate.PRESUMED_DEAD)
    ('alive_resprout', 'presumed_dead')
    """
    return fate.name.lower()


_FATES = ", ".join(fate_code(fate) for fate in Fate)
_CAUSES = ", ".join(code for codes in CAUSES_BY_STATUS.values() for code, *_ in codes)

PLACE_COLUMNS = (
    LongColumn("kind", TEXT, "", f"{TREE}, {PLOT}", "What the row is about: one tree, or one plot whose trees were counted."),
    LongColumn("jurisdiction", TEXT, "", "ISO 3166-2", "State or province of the site; blank where it is not known."),
    LongColumn("site", TEXT, "", "", "Code of the site."),
    LongColumn("site_name", TEXT, "", "", "Name of the site."),
    LongColumn("planting", TEXT, "", "", "Code of the planting."),
    LongColumn("item", TEXT, "", "", "Tag of the tree or code of the plot; with the planting it names one tree or plot for good."),
    LongColumn("block", TEXT, "", "", "Block of the tree, where the planting has blocks."),
    LongColumn("row", WHOLE, "", "", "Row of the tree."),
    LongColumn("position", WHOLE, "", "", "Position in the row."),
)
LOT_COLUMNS = (
    LongColumn("lot", TEXT, "", "", "Code of the lot that was planted or sown."),
    LongColumn("mother", TEXT, "", "", "Mother tree of the lot; bulk where several were mixed."),
    LongColumn("family", TEXT, "", "", "Mother, father or pollen, and year."),
    LongColumn("source", TEXT, "", "", "Source of resistance by the pedigree; a mixture is named with its shares."),
    LongColumn("line", TEXT, "", "", "Recurrent line by the pedigree; a mixture is named with its shares."),
    LongColumn("generation", TEXT, "", "", "Generation code, such as B3F3."),
    LongColumn("role", TEXT, "", "test, check, buffer, filler", "Why it was planted."),
    LongColumn("check_kind", TEXT, "", "native, donor, other", "Kind of check by its species; blank if the row is not a check."),
    LongColumn("population", TEXT, "", "planted, sown", "Planted as a tree, or sown as seed. Never add the two."),
    LongColumn("counted", TEXT, "", YES_NO, "Whether it enters survival: test or check, and not a replacement."),
)
ROUND_COLUMNS = (
    LongColumn("round", TEXT, "", "", "Label of the census round."),
    LongColumn("round_opens_on", DAY, "", "", "First day of the round; orders the rounds of a planting."),
    LongColumn("growing_seasons", WHOLE, "growing seasons", "", "Growing seasons completed since planting: the age."),
    LongColumn(
        "complete", TEXT, "", YES_NO, "Whether the round is a result for this population: closed or settled, and enough of it assessed."
    ),
    LongColumn("unread_records", WHOLE, "records", "", "Records of the round that nobody has accepted yet."),
    LongColumn("observed_on", PART_DATE, "", "", "Day of the record that counts, or its month or year; blank without one."),
    LongColumn("status", TEXT, "", ", ".join(code for code, *_ in STATUSES), "Status in that record; blank without one, and of plots."),
    LongColumn("cause", TEXT, "", _CAUSES, "Cause of death or reason of removal in that record."),
    LongColumn("fate", TEXT, "", _FATES, "What is known of the tree at this round, with later rounds considered; blank of plots."),
    LongColumn("planted", WHOLE, "trees or seeds", "", "1 for a tree; what was planted or sown on a plot."),
    LongColumn("assessed", WHOLE, "trees or seeds", "", "Of them assessed: the denominator of survival."),
    LongColumn("alive", WHOLE, "trees or seeds", "", "Of them alive: the numerator of survival."),
)
COLUMNS = (*PLACE_COLUMNS, *LOT_COLUMNS, *ROUND_COLUMNS)


def measurement_columns(items: Iterable[Measurement]) -> tuple[LongColumn, ...]:
    """The columns of measurements, the table's and the programme's own, under the names of their fields.

    Source
    ------
    Definition of this programme.
    """
    return tuple(
        LongColumn(
            item.field, TEXT if item.is_word else WHOLE if item.classes or item.is_whole else NUMBER, item.unit,
            ", ".join(f"{code} {label}" for code, label, _meaning in item.classes), f"{item.label}. {item.taken} Blank: nobody looked.",
        )
        for item in items
    )  # fmt: skip
