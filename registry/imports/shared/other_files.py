"""Files that are read as sheets though they are neither CSV nor XLSX: an app that can read some adds its reader once, at the start."""

from collections.abc import Callable
from typing import NamedTuple

__all__ = ["FileReader", "also_reads", "reader_of"]


class FileReader(NamedTuple):
    """Reads one family of files.

    `fits(content)` says by the content whether a file is one of them; `sheet_names(content, filename)` lists the sheets to choose from,
    and `read(content, filename, options)` gives the `Table`. Both raise SheetError.
    """

    fits: Callable
    sheet_names: Callable
    read: Callable


_READERS: list[FileReader] = []


def also_reads(reader):
    """Called once by an app: files that fit are read as sheets, wherever a sheet is taken."""
    _READERS.append(reader)


def reader_of(content):
    """Who reads a file; None for CSV and XLSX."""
    return next((reader for reader in _READERS if reader.fits(content)), None)
