"""What survival figures are grouped by: places, roles, and the levels a lineage is taken at.

Pages, sheets, commands and help read them here.
"""

from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.screen import list_words
from registry.calc.shared.worded import worded

TEST, CHECK = "test", "check"
ROLES_COUNTED = (TEST, CHECK)  # buffers and fillers are never counted
# Kinds of check, in the order they are compared with: the susceptible native one is the standard of the trade.
NATIVE, OTHER, DONOR = "native", "other", "donor"
STANDARDS = (NATIVE, OTHER, DONOR)

LINEAGE = "lineage"
BY = {
    "site": gettext_noop("site"), LINEAGE: gettext_noop("lineage"), "planting": gettext_noop("planting"),
    "jurisdiction": gettext_noop("jurisdiction"),
}  # fmt: skip
# The orders of groups that pages offer; the command takes any.
GROUPINGS = (
    ("site", LINEAGE),
    (LINEAGE, "site"),
    (LINEAGE,),
    ("site",),
    ("planting", LINEAGE),
    ("planting",),
    ("jurisdiction", LINEAGE),
    ("jurisdiction",),
)
# Each code is a field of `registry.selectors.pedigree.lineage.Lineage`.
LEVELS = {
    "lot": gettext_noop("lot"),
    "mother": gettext_noop("mother tree"),
    "family": gettext_noop("family"),
    "source": gettext_noop("source of resistance"),
    "line": gettext_noop("recurrent line"),
    "generation": gettext_noop("generation"),
}
LEVEL_FIRST_SHOWN = "source"


def level_choices() -> list[tuple[str, str]]:
    """The levels as a form offers them.

    Source
    ------
    Definition of this programme.
    """
    return list(LEVELS.items())


def grouping_choices() -> list[tuple[str, str]]:
    """The groupings as a form offers them, such as ("site-lineage", "site, then lineage").

    Source
    ------
    Definition of this programme.
    """
    return [("-".join(words), _grouping_words(*words)) for words in GROUPINGS]


def _grouping_words(first: str, then: str = "") -> str:
    return worded("%(first)s, then %(then)s", first=worded(BY[first]), then=worded(BY[then])) if then else worded(BY[first])


def level_words() -> str:
    """All levels in a sentence.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> level_words()
    'lot, mother tree, family, source of resistance, recurrent line or generation'
    """
    return list_words(LEVELS.values())
