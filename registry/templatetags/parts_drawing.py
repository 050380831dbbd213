"""What the drawn parts need to know before they are drawn: words, places on a line, cells of a grid.

The tags in `parts.py` hand the results to their templates.
"""

from dataclasses import dataclass, field

from django.utils.translation import gettext, ngettext

from registry.selectors.shared.local_words import local_count, local_number

# Under this many trees a share says more than was seen, so the count leads.
COUNT_LEADS_BELOW = 10

# The line of an interval bar keeps this share of its width free at both ends, so that a dot at 0 or 1 stays whole.
BAR_MARGIN_SHARE = 0.04


@dataclass(frozen=True, slots=True)
class Fate:
    """How one fate is shown: its letters on a map, its word, and the ink it is drawn in."""

    key: str
    letters: str
    word: str
    ink: str


FATES = {
    fate.key: fate
    for fate in (
        Fate("alive", "A", "alive", "alive"),
        Fate("resprout", "AR", "alive by resprout", "alive"),
        Fate("dead", "D", "dead", "dead"),
        Fate("presumed_dead", "PD", "presumed dead", "dead"),
        Fate("not_found", "NF", "not found", "unaccounted"),
        Fate("unclear", "SU", "seen but state unclear", "unaccounted"),
        Fate("not_located", "NL", "position not located", "unaccounted"),
        Fate("not_visited", "NV", "not visited", "unaccounted"),
        Fate("removed", "RM", "removed", "removed"),
        Fate("unseen", "–", "no census yet", "removed"),
    )
}


def fate_of(key):
    """The fate with this key; an unknown key is a programming error and says which keys there are."""
    try:
        return FATES[str(key)]
    except KeyError:
        raise ValueError(f"No fate is called '{key}'. The fates are {', '.join(FATES)}.") from None


_COUNTED = {
    "alive": lambda n: ngettext("alive", "alive", n),
    "resprout": lambda n: ngettext("alive by resprout", "alive by resprout", n),
    "dead": lambda n: ngettext("dead", "dead", n),
    "presumed_dead": lambda n: ngettext("presumed dead", "presumed dead", n),
    "not_found": lambda n: ngettext("not found", "not found", n),
    "unclear": lambda n: ngettext("seen but state unclear", "seen but state unclear", n),
    "not_located": lambda n: ngettext("position not located", "position not located", n),
    "not_visited": lambda n: ngettext("not visited", "not visited", n),
    "removed": lambda n: ngettext("removed", "removed", n),
    "unseen": lambda n: ngettext("no census yet", "no census yet", n),
}


def fate_words(key, count=None):
    """The word of a fate; in French it agrees with the count before it."""
    return gettext(fate_of(key).word) if count is None else _COUNTED[str(key)](count)


def share_text(share):
    """A share with two decimals, as every survival figure is printed."""
    return local_number(f"{float(share):.2f}")


def interval_text(share, low, high, n=None):
    """'0.69 (0.62–0.75), n 180'; without n the count is left out."""
    text = f"{share_text(share)} ({share_text(low)}–{share_text(high)})"
    return text if n is None else f"{text}, n {local_count(n)}"


def band_text(band_low, band_high):
    """'0.62–0.75', or nothing when every tree is accounted for and the band has no width."""
    if band_low is None or band_high is None or share_text(band_low) == share_text(band_high):
        return ""
    return f"{share_text(band_low)}–{share_text(band_high)}"


def bar_place(share):
    """Where a share of 0 to 1 lies on the bar, as a percentage of its width."""
    share = float(share)
    if not 0 <= share <= 1:
        raise ValueError(f"A share is between 0 and 1, not {share}.")
    return f"{100 * (BAR_MARGIN_SHARE + share * (1 - 2 * BAR_MARGIN_SHARE)):.2f}%"


def bar_length(low, high):
    """The width between two shares, as a percentage of the bar."""
    if float(low) > float(high):
        raise ValueError(f"The lower end {low} is above the upper end {high}.")
    return f"{100 * (float(high) - float(low)) * (1 - 2 * BAR_MARGIN_SHARE):.2f}%"


def bar_drawing(share, low, high, band_low=None, band_high=None):
    """Places of dot, line, band and ticks of one interval bar."""
    drawing = {
        "dot": bar_place(share),
        "low": bar_place(low),
        "high": bar_place(high),
        "ticks": [(bar_place(tick), local_number(label)) for tick, label in ((0, "0"), (0.5, "0.5"), (1, "1"))],
    }
    if band_low is not None and band_high is not None:
        drawing |= {"band": bar_place(band_low), "band_length": bar_length(band_low, band_high)}
    return drawing


def heat_step(share):
    """The step of the survival ramp, 0 to 4, each a fifth of the scale wide; 1 belongs to the last."""
    share = float(share)
    if not 0 <= share <= 1:
        raise ValueError(f"A share is between 0 and 1, not {share}.")
    return min(int(share * 5), 4)


@dataclass(slots=True)
class Cell:
    """One position of a map: the trees that are or were there, the present one last."""

    row: int
    position: int
    trees: list = field(default_factory=list)
    start: bool = False

    @property
    def tree(self):
        return self.trees[-1] if self.trees else None

    @property
    def words(self):
        """The cell for a screen reader and a pointer at rest."""
        place = gettext("row %(row)s, position %(position)s") % {"row": self.row, "position": self.position}
        if not self.trees:
            return gettext("%(place)s: nothing planted") % {"place": place}
        words = {"tree": self.tree.label, "place": place, "role": gettext(self.tree.role), "fate": fate_words(self.tree.fate)}
        text = gettext("%(tree)s, %(place)s, %(role)s: %(fate)s") % words
        earlier = ", ".join(f"{tree.label} {fate_words(tree.fate)}" for tree in self.trees[:-1])
        return gettext("%(words)s; earlier here: %(trees)s") % {"words": text, "trees": earlier} if earlier else text


@dataclass(frozen=True, slots=True)
class MapTree:
    """What a position map shows of one tree."""

    row: int
    position: int
    fate: str
    label: str
    role: str = "test"
    entry: str = ""
    url: str = ""
    block: str = ""


def _grid(block, trees, start, row_one, position_one):
    rows = range(min(t.row for t in trees), max(t.row for t in trees) + 1)
    positions = range(min(t.position for t in trees), max(t.position for t in trees) + 1)
    cells = {(row, position): Cell(row, position) for row in rows for position in positions}
    for tree in trees:
        cells[tree.row, tree.position].trees.append(tree)
    if start in cells:
        cells[start].start = True
    across = list(positions) if position_one == "left" else list(reversed(positions))
    down = list(rows) if row_one == "top" else list(reversed(rows))
    return {
        "block": block,
        "positions": across,
        "rows": [(row, [cells[row, position] for position in across]) for row in down],
    }


def position_grids(trees, start=None, row_one="top", position_one="left"):
    """One grid per block, blocks and trees in the order given; a position with no tree is an empty cell.

    `start` is the (row, position) of the start corner. Trees without a row and position cannot be drawn
    and are left to the caller.
    """
    if row_one not in ("top", "bottom") or position_one not in ("left", "right"):
        raise ValueError("row_one is 'top' or 'bottom', position_one is 'left' or 'right'.")
    blocks = {}
    for tree in trees:
        blocks.setdefault(tree.block, []).append(tree)
    return [_grid(block, planted, start, row_one, position_one) for block, planted in blocks.items()]


def fates_shown(trees):
    """The fates a map needs in its legend, with their counts, in the order of FATES."""
    counts = dict.fromkeys(FATES, 0)
    for tree in trees:
        counts[fate_of(tree.fate).key] += 1
    return [(FATES[key], count) for key, count in counts.items() if count]
