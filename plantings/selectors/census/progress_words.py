"""How far a round is, in the language of the reader."""

from django.utils.translation import gettext

from plantings.selectors.census.rounds import expected
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count

__all__ = ["of_words", "recorded_words"]


def of_words(part, whole):
    """'3 of 10'."""
    return gettext("%(part)s of %(whole)s") % {"part": local_count(part), "whole": local_count(whole)}


def recorded_words(census_round):
    """'80 of 195 trees recorded', of a round that was read with its progress."""
    words = {"part": local_count(census_round.recorded), "trees": local_amount(expected(census_round), "trees")}
    return gettext("%(part)s of %(trees)s recorded") % words
