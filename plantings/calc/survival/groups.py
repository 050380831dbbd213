"""What survival figures are grouped by: places, roles, and the levels a lineage is taken at.

Pages, sheets, commands and help read them here.
"""

from registry.calc.shared.screen import list_words

TEST, CHECK = "test", "check"
ROLES_COUNTED = (TEST, CHECK)  # buffers and fillers are never counted

LINEAGE = "lineage"
BY = {"site": "site", LINEAGE: "lineage", "planting": "planting", "jurisdiction": "jurisdiction"}
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
    "lot": "lot",
    "mother": "mother tree",
    "family": "family",
    "source": "source of resistance",
    "line": "recurrent line",
    "generation": "generation",
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
    return [("-".join(words), ", then ".join(BY[word] for word in words)) for words in GROUPINGS]


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
