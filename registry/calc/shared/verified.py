"""Whether a record counts as verified, and the words for it: rules, papers and rows of the handbook are judged alike."""

from datetime import date
from typing import Protocol

from registry.calc.shared.screen import day_words

# What a record that is not verified is short of, as the end of "not verified…".
ASK_AUTHORITY, ASK_ISSUER, AGAINST_PAGE = ": ask the authority", ": ask the issuer", " against the printed page"


class Verifiable(Protocol):
    """A record with the day on which and the person by whom it was verified; `verified_with` and `review_by` where it has them."""

    verified_on: date | None
    verified_by: str


def unverified_words(record: Verifiable, on: date, how: str) -> str:
    """Why a record counts as not verified on a day; "" when it is verified. The day it was verified and the review date still count.

    Parameters
    ----------
    record : Verifiable
    on : date
    how : str
        `ASK_AUTHORITY`, `ASK_ISSUER` or `AGAINST_PAGE`.

    Source
    ------
    That a check needs a day, a name and a review: common practice, no source.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> never = SimpleNamespace(verified_on=None, verified_by="")
    >>> unverified_words(never, date(2026, 4, 1), ASK_AUTHORITY)
    'not verified: ask the authority'
    >>> rule = SimpleNamespace(verified_on=date(2025, 3, 1), verified_by="A. Lead", review_by=date(2026, 3, 1))
    >>> unverified_words(rule, date(2026, 3, 1), ASK_AUTHORITY), unverified_words(rule, date(2026, 3, 2), ASK_AUTHORITY)
    ('', 'not verified since its review date of 1 Mar 2026: ask the authority')
    >>> unverified_words(rule, date(2025, 2, 28), ASK_AUTHORITY)
    'not verified before 1 Mar 2025: ask the authority'
    """
    if record.verified_on is None or not record.verified_by or getattr(record, "verified_with", None) == "":
        return f"not verified{how}"
    if on < record.verified_on:
        return f"not verified before {day_words(record.verified_on)}{how}"
    review_by = getattr(record, "review_by", None)
    if review_by is not None and review_by < on:
        return f"not verified since its review date of {day_words(review_by)}{how}"
    return ""


def verified_words(record: Verifiable, on: date, how: str) -> str:
    """Whether a record is verified on a day, in words.

    Parameters
    ----------
    record, on, how
        As of `unverified_words`.

    Source
    ------
    As of `unverified_words`.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> rule = SimpleNamespace(verified_on=date(2025, 3, 1), verified_by="A. Lead", verified_with="Example plant office")
    >>> verified_words(rule, date(2026, 4, 1), ASK_AUTHORITY)
    'verified 1 Mar 2025 by A. Lead with Example plant office'
    """
    unverified = unverified_words(record, on, how)
    if unverified:
        return unverified
    whom = getattr(record, "verified_with", "")
    return f"verified {day_words(record.verified_on)} by {record.verified_by}{f' with {whom}' if whom else ''}"
