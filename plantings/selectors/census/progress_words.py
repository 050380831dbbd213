"""How far a round is, in the language of the reader."""

from django.utils.translation import gettext, ngettext

from plantings.selectors.census.rounds import expected
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count

__all__ = ["is_lacking", "of_words", "progress_words", "recorded_words"]


def of_words(part, whole):
    """'3 of 10'."""
    return gettext("%(part)s of %(whole)s") % {"part": local_count(part), "whole": local_count(whole)}


def recorded_words(census_round):
    """'80 of 195 trees recorded', of a round that was read with its progress."""
    words = {"part": local_count(census_round.recorded), "trees": local_amount(expected(census_round), "trees")}
    return gettext("%(part)s of %(trees)s recorded") % words


def is_lacking(census_round):
    """Whether a tree has no record, or a plot no count, in a round that was read with its progress."""
    return bool(census_round.missing or census_round.plots > census_round.counted)


def progress_words(census_round, is_result):
    """How far a round is, for its own page and for Today.

    It is complete only as a result: a tree that nobody visited, or whose place nobody found, has a record too.
    """
    if not census_round.recorded and not census_round.counted:
        return gettext("no record yet")
    parts = []
    if census_round.missing:
        trees = expected(census_round)
        words = ngettext("%(n)s of %(all)s tree recorded", "%(n)s of %(all)s trees recorded", trees)
        parts.append(words % {"n": local_count(census_round.recorded), "all": local_count(trees)})
    if census_round.plots > census_round.counted:
        words = ngettext("%(n)s of %(all)s plot counted", "%(n)s of %(all)s plots counted", census_round.plots)
        parts.append(words % {"n": local_count(census_round.counted), "all": local_count(census_round.plots)})
    return ", ".join(parts) or (gettext("complete") if is_result else gettext("all recorded, not complete"))
