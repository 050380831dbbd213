"""The number of a record, as an address or a hidden box gives it."""

__all__ = ["is_record_key"]

_DIGITS_MOST = 18  # of these every number fits 64 bits; Python reads no text of more than 4,300 (docs.python.org, int_max_str_digits)


def is_record_key(text: str) -> bool:
    """Whether a text may be the number of a record.

    Source
    ------
    18 digits fit the 64 bits of a key (sqlite.org/datatype3.html); no count of records comes near them (common practice, no source).

    Examples
    --------
    >>> is_record_key("12"), is_record_key("-1"), is_record_key("9" * 19), is_record_key("")
    (True, False, False, False)
    """
    return text.isascii() and text.isdecimal() and len(text) <= _DIGITS_MOST
