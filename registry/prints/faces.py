"""The type of the prints: the shipped faces, text made fit to print, lines that fit their width.

Widths and sizes are in points (1/72 inch). Text is drawn from left to right, one glyph a character: scripts that join or
run the other way are legible to a machine only.
"""

import unicodedata
from bisect import bisect
from functools import cache
from pathlib import Path

REGULAR = "DejaVuSansCondensed"
BOLD = "DejaVuSansCondensed-Bold"
OBLIQUE = "DejaVuSansCondensed-Oblique"
CODE = "DejaVuSansMono-Bold"  # tells 0 from O and 1 from l
FACES = (REGULAR, BOLD, OBLIQUE, CODE)
MISSING = "□"
_FOLDER = Path(__file__).resolve().parent / "fonts"
_BREAKS = "-/_.· "


@cache
def face(name):
    """A face, registered with reportlab the first time it is used."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    font = TTFont(name, str(_FOLDER / f"{name}.ttf"))
    pdfmetrics.registerFont(font)
    return font


def printable(text: object, name: str = REGULAR) -> str:
    """Text as the face can print it, on one line.

    Line breaks and other control characters become spaces, marks that turn the direction of reading are dropped, and a
    character the face has not becomes "□".

    Examples
    --------
    >>> printable("Bj\\u00f6rn\\n\\u202eØ 4 °C")
    'Björn Ø 4 °C'
    """
    known = face(name).face.charToGlyph
    parts = []
    for sign in unicodedata.normalize("NFC", str(text)):
        kind = unicodedata.category(sign)
        if kind in ("Cc", "Zl", "Zp", "Zs"):
            parts.append(" ")
        elif kind != "Cf":
            parts.append(sign if ord(sign) in known else MISSING)
    return " ".join("".join(parts).split())


def text_width(text: str, name: str, size: float) -> float:
    """Width of printable text."""
    return face(name).stringWidth(text, size)


def fit_line(text: object, name: str, size: float, smallest: float, width: float) -> tuple[str, float]:
    """Text and size with which it fits one line: as it is, else smaller, else smallest and shortened with an ellipsis.

    Parameters
    ----------
    text : str
    name : str
        A face.
    size, smallest : float
        The size wanted and the smallest that can be read.
    width : float

    Examples
    --------
    >>> fit_line("Mill Brook", REGULAR, 8, 6, 200)
    ('Mill Brook', 8)
    >>> fit_line("Mill Brook orchard of the county", REGULAR, 8, 6, 60)[0]
    'Mill Brook orchard o…'
    """
    text = printable(text, name)
    needed = text_width(text, name, 1)
    if needed * size <= width:
        return text, size
    if needed * smallest <= width:
        return text, width / needed
    shortened = [f"{text[:end].rstrip()}…" for end in range(len(text))]
    fitting = bisect(shortened, width, key=lambda line: text_width(line, name, smallest))
    return shortened[max(fitting - 1, 0)], smallest


def wrap(text: object, name: str, size: float, width: float) -> list[str]:
    """Text in lines no wider than `width`, broken at spaces; a word that is too long is broken where it must be.

    Examples
    --------
    >>> wrap("Keep cool, do not freeze", REGULAR, 10, 60)
    ['Keep cool,', 'do not freeze']
    """
    lines, line = [], ""
    for word in printable(text, name).split(" "):
        longer = f"{line} {word}".strip()
        if text_width(longer, name, size) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        while text_width(word, name, size) > width and len(word) > 1:
            head = _longest_head(word, name, size, width)
            lines.append(head)
            word = word[len(head) :]
        line = word
    return [*lines, line] if line or not lines else lines


def first_lines(lines: list[str], most: int) -> list[str]:
    """At most so many lines, the last of them with an ellipsis where there were more.

    Examples
    --------
    >>> first_lines(["a", "b", "c"], 2)
    ['a', 'b …']
    """
    return lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1]} …"]


def _longest_head(word, name, size, width):
    ends = range(1, len(word) + 1)
    return word[: max(bisect(ends, width, key=lambda end: text_width(word[:end], name, size)), 1)]


def fit_code(code: object, size: float, enough: float, width: float, height: float) -> tuple[list[str], float]:
    """A code in as few lines as it can be read in, never shortened.

    Parameters
    ----------
    code : str
    size : float
        The size wanted.
    enough : float
        From this size on, fewer lines are better than larger letters.
    width, height : float
        Of the place it has.

    Returns
    -------
    lines : list of str, which joined are the code
    size : float

    Examples
    --------
    >>> fit_code("BT-2026-0142", 14, 9, 120, 30)[0]
    ['BT-2026-0142']
    >>> fit_code("NORTH-ORCHARD-2026-0142-CONTAINER-SEEDLOT", 14, 9, 116, 60)[0]
    ['NORTH-ORCHARD-', '2026-0142-', 'CONTAINER-SEEDLOT']
    """
    code = printable(code, CODE)
    best = ([code], 0.0)
    for count in range(1, len(code) + 1):
        lines = _parts(code, count)
        needed = max(text_width(line, CODE, 1) for line in lines)
        found = min(size, width / needed, height / len(lines) / LEADING)
        if found > best[1]:
            best = (lines, found)
        if found >= enough or height / (count + 1) / LEADING <= best[1]:
            break
    return best


LEADING = 1.18


def _parts(code, count):
    """A code in `count` lines of nearly the same length, broken behind a mark between its parts where one is near."""
    lines, rest = [], code
    for left in range(count, 1, -1):
        target = -(-len(rest) // left)
        near = [end for end in range(1, len(rest)) if rest[end - 1] in _BREAKS]
        end = min(near, key=lambda place: abs(place - target), default=target)
        end = end if abs(end - target) <= max(2, target // 2) else target
        lines.append(rest[:end])
        rest = rest[end:]
        if not rest:
            return lines
    return [*lines, rest]
