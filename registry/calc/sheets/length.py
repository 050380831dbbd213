"""About how many rows a file has, without reading it as a table: whether it is long is asked before anything is read."""

import io
import zipfile

__all__ = ["rows_about"]

_PIECE = 1 << 20


def rows_about(content, filename):
    """Lines of a text file, or rows of all sheets of a workbook (those of one with several sheets are counted together).

    Examples
    --------
    >>> rows_about(b"Code,Year\\nA,2020\\nB,2021\\n", "lots.csv")
    3
    """
    if not filename.lower().endswith(".xlsx"):
        return max(content.count(b"\n"), content.count(b"\r"))
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as book:
            return sum(_count(book, name) for name in book.namelist() if name.startswith("xl/worksheets/"))
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, zipfile.zlib.error):
        return 0  # reading it says what is wrong


def _count(book, name):
    found, rest = 0, b""
    with book.open(name) as sheet:
        while piece := sheet.read(_PIECE):
            piece = rest + piece
            found += piece.count(b"<row ")
            rest = piece[-4:]  # "<row " may lie across two pieces; four bytes of it are never counted twice
    return found
