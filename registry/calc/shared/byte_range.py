"""Which part of a file a download goes on with, where an earlier one broke off."""

import re

__all__ = ["byte_range"]

_RANGE = re.compile(r"bytes=([0-9]{0,18})-([0-9]{0,18})")


def byte_range(header: str, size: int) -> tuple[int, int] | None:
    """The first and the last byte that a Range header asks for.

    Parameters
    ----------
    header : str
        Such as "bytes=500-", "bytes=500-999", or "bytes=-500" for the last 500.
    size : int
        Bytes of the file.

    Returns
    -------
    tuple of int, or None
        None where the whole file is the answer: no header, several ranges, another unit, or a range past the end.

    Source
    ------
    RFC 9110, sections 14.1.2 and 14.2 (from memory): a server may answer any range with the whole file.

    Examples
    --------
    >>> byte_range("bytes=500-", 1000), byte_range("bytes=500-9999", 1000), byte_range("bytes=-100", 1000)
    ((500, 999), (500, 999), (900, 999))
    >>> byte_range("", 1000), byte_range("bytes=1000-", 1000), byte_range("bytes=9-1", 1000), byte_range("bytes=0-1,5-6", 1000)
    (None, None, None, None)
    """
    found = _RANGE.fullmatch(header)
    if not found or found.groups() == ("", ""):
        return None
    first, last = found.groups()
    if not first:
        start, end = max(size - int(last), 0), size - 1
    else:
        start, end = int(first), min(int(last), size - 1) if last else size - 1
    return (start, end) if start <= end else None
