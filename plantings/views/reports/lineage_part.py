"""The part of a survival report about lineages: their picture, their table, and those that cannot be told."""

from collections import defaultdict

from plantings.calc.lineages.compare import NEEDED
from plantings.calc.lineages.words import difference_range, method_sentences
from plantings.calc.survival.groups import LEVELS
from plantings.views.reports.pictures import lineage_drawing
from registry.calc.shared.screen import amount_words
from registry.prints.document import Notes, Table, TableColumn
from registry.selectors.shared.local_text import local_text

__all__ = ["lineage_parts"]

_NOTE = (
    "Dot: observed difference from the native check over common sites; line: its 95 % interval; diamond: shrunken value; short marks: "
    "single sites; pale: every unaccounted tree dead to every one alive. In the order of the shrunken value."
)
_NOTE_ALONE = (
    "Dot: observed survival; line: its 95 % interval; diamond: shrunken survival; short marks: single sites; pale: every unaccounted tree "
    "dead to every one alive. In the order of the shrunken value. The line of a lineage on one site is from its trees alone: it does not "
    "know how the lineage does elsewhere, which the shrunken survival does."
)


def lineage_parts(found, level):
    """The parts of a Comparison at a level."""
    if found.ranked:
        if found.has_native:
            title, note, figures = "Lineages beside the native check", _NOTE, ("From the native check (95 %)", "Shrunken difference (95 %)")
        else:
            title, note, figures = "Lineages beside each other", _NOTE_ALONE, ("Survival as observed (95 %)", "Shrunken survival (95 %)")
        yield lineage_drawing(found, title, note)
        columns = (
            TableColumn(LEVELS[level].capitalize(), 2), *(TableColumn(label, 2, "right") for label in figures),
            TableColumn("Chance of best quarter", 1, "right"), TableColumn("Reliability", 1, "right"),
            TableColumn("Sites", 0.7, "right"), TableColumn("Alive of assessed", 1.2, "right"),
        )  # fmt: skip
        rows = tuple(_lineage_row(one, found.has_native) for one in found.ranked)
        yield Table("Lineages", columns, rows, note=" ".join(_methods(found)))
    if found.unranked:
        by_reason = defaultdict(list)
        for one in found.unranked:
            by_reason[one.reason].append(f"{one.label} ({amount_words(one.row.n, 'trees')} assessed)")
        lines = tuple(f"{', '.join(named)}: {local_text(why)}. {local_text(NEEDED[why])}" for why, named in by_reason.items())
        yield Notes("Cannot be told", lines)


def _methods(found):
    return [local_text(words) for words in method_sentences(found)]


def _lineage_row(one, has_native):
    shrunk = one.shrunk
    if has_native:
        figures = [local_text(difference_range(one.row.difference)), local_text(difference_range(shrunk.difference)) if shrunk else ""]
    else:
        figures = [_share_range(one.row), _share_range(shrunk) if shrunk else ""]
    chances = [f"{share:.2f}" if share is not None else "" for share in ((shrunk.best, shrunk.reliability) if shrunk else (None, None))]
    return (one.label, *figures, *chances, f"{len(one.sites):,}", f"{one.row.alive:,} of {one.row.n:,}")


def _share_range(found):
    ends = "" if found.low is None else f" ({found.low:.2f}–{found.high:.2f})"
    return "" if found.share is None else f"{found.share:.2f}{ends}"
