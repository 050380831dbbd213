"""Words that the checks of all models share.

Source
------
Definition of this programme: its sentences.
"""

from collections.abc import Sequence

from plantings.calc.fits.check import Cell
from plantings.calc.survival.table import ROLE_WORDS
from registry.calc.shared.worded import Worded, worded


def cell_name(cell: Cell) -> str:
    """The label of a lineage, or the kind of check in words."""
    return worded(ROLE_WORDS[cell.standard][1]) if cell.standard else cell.label


def paragraph(sentences: Sequence[Worded]) -> Worded:
    """Sentences one after the other, each with its own translation."""
    *before, joined = sentences
    for words in reversed(before):
        joined = worded("%(first)s %(rest)s", first=words, rest=joined)
    return joined
