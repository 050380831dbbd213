"""Square codes at a size that scans, drawn as one filled path."""

from dataclasses import dataclass
from functools import lru_cache

# Smallest. ISO/IEC 18004 leaves it to the application. Measured: a page scanned at 200 dpi, turned by 1.5 degrees and blurred, reads
# back all of 30 codes at 0.39 mm (3.1 pixels), 24 at 0.36 mm and 1 at 0.34 mm.
MODULE_MM = 0.4
QUIET = 4  # modules of white around it: ISO/IEC 18004, quiet zone of a QR code
POINTS_PER_MM = 72 / 25.4
_LARGEST_MM = 1.0
_UTF8 = {"mode": "byte", "encoding": "utf-8", "eci": True}


class PrintError(ValueError):
    """A print that cannot be drawn like this; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """`text` it holds, `rows` of its modules without the quiet zone (True is dark), `module_mm`."""

    text: str
    rows: tuple[tuple[bool, ...], ...]
    module_mm: float

    @property
    def side_mm(self) -> float:
        """With the quiet zone."""
        return (len(self.rows) + 2 * QUIET) * self.module_mm


def qr_symbol(texts: tuple[str, ...], side_mm: float) -> Symbol:
    """The first of some texts that fits a square with modules large enough to scan.

    Parameters
    ----------
    texts : tuple of str
        In order of preference, such as the address of a record, then its bare code.
    side_mm : float
        Side of the square, the quiet zone in it.

    Returns
    -------
    Symbol
        At error correction M where that fits, else L.

    Raises
    ------
    PrintError
        When none fits.

    Examples
    --------
    >>> qr_symbol(("BT-2026-0142",), 20).module_mm >= MODULE_MM
    True
    """
    for text in texts:
        for level in ("m", "l"):
            rows = _rows(text, level)
            module = side_mm / (len(rows) + 2 * QUIET) if rows else 0
            if module >= MODULE_MM:
                return Symbol(text, rows, min(module, _LARGEST_MM))
    raise PrintError(f"A QR code of “{texts[-1][:60]}” is too fine to scan at {side_mm:.0f} mm. Use larger labels or a shorter code.")


@lru_cache(maxsize=64)
def _rows(text, level):
    """The modules of a text at an error correction level; none where it is too long for any QR code."""
    import segno

    try:
        # signs beyond ASCII say how they are coded, or every reader would guess otherwise
        code = segno.make_qr(text, error=level, boost_error=False, **({} if text.isascii() else _UTF8))
    except segno.DataOverflowError:
        return ()
    return tuple(tuple(bool(cell) for cell in row) for row in code.matrix)


def draw_qr(canvas, symbol: Symbol, left: float, bottom: float) -> None:
    """Draw it with its quiet zone; `left` and `bottom` in points."""
    canvas.saveState()
    canvas.translate(left, bottom)
    module = symbol.module_mm * POINTS_PER_MM
    canvas.scale(module, module)
    canvas.setFillGray(0)
    path = canvas.beginPath()
    size = len(symbol.rows)
    for number, row in enumerate(symbol.rows):
        for start, length in _runs(row):
            path.rect(QUIET + start, QUIET + size - 1 - number, length, 1)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.restoreState()


def _runs(row):
    """(start, length) of the dark runs of a row."""
    start = None
    for place, dark in enumerate((*row, False)):
        if dark and start is None:
            start = place
        elif not dark and start is not None:
            yield start, place - start
            start = None
