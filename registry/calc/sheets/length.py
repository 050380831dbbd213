"""About how many rows a file has, without reading it as a table: whether it is long is asked before anything is read."""

import io
import re
import zipfile
import zlib

__all__ = ["rows_about"]

_PIECE = 1 << 20
_PIECES_MOST = 64  # of a workbook's sheets: what is larger is long, whatever is in it
_ROW = re.compile(rb"<row[ >]")


def rows_about(content: bytes, filename: str) -> int:
    """Lines of a text file, or rows of all sheets of a workbook (those of one with several sheets are counted together).

    Parameters
    ----------
    content : bytes
    filename : str
        Its ending says whether it is a workbook.

    Returns
    -------
    int
        Rows, with the head; 0 for a workbook that cannot be read. Of a workbook that unpacks to more than 64 MB at least a row for
        each 64 bytes.

    Source
    ------
    Definition of this programme: a count of the bytes that begin a row.

    Examples
    --------
    >>> rows_about(b"Code,Year\\nA,2020\\nB,2021\\n", "lots.csv")
    3
    """
    if not filename.lower().endswith(".xlsx"):
        return max(content.count(b"\n"), content.count(b"\r"))
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as book:
            return _rows_of(book)
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, zlib.error):
        return 0  # reading it says what is wrong


def _rows_of(book):
    found = pieces = 0
    for name in book.namelist():
        if not name.startswith("xl/worksheets/"):
            continue
        rest = b""
        with book.open(name) as sheet:
            while piece := sheet.read(_PIECE):
                pieces += 1
                if pieces > _PIECES_MOST:
                    return max(found, _PIECE * _PIECES_MOST // 64)
                found += len(_ROW.findall(rest + piece))
                rest = piece[-4:]  # "<row " may lie across two pieces; four bytes of it are never counted twice
    return found
