"""What a reader must know of the censuses behind figures, on whatever page the figures are."""

from dataclasses import dataclass

from django.utils.translation import ngettext

from plantings.selectors.census.results import results_overtaken
from plantings.selectors.census.second import agreement_words
from registry.selectors.shared.local_units import local_amount

__all__ = ["RecordsBehind", "records_behind"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordsBehind:
    """The records behind the figures of a table: how many are `unread`, which nobody has accepted, and whether these count
    (`unread_count`); results of their rounds given out before later records (`overtaken`); how far two people agree, in words
    (`second`)."""

    unread: int
    unread_count: bool
    overtaken: tuple
    second: str

    @property
    def unread_words(self):
        """How many records nobody has accepted, and whether they count, in a sentence; "" for none."""
        if not self.unread:
            return ""
        if self.unread_count:
            words = ngettext(
                "%(counted)s of the censuses behind these figures is not reviewed yet, and counted all the same.",
                "%(counted)s of the censuses behind these figures are not reviewed yet, and counted all the same.",
                self.unread,
            )
        else:
            words = ngettext(
                "%(counted)s of the censuses behind these figures is not reviewed yet, and not counted.",
                "%(counted)s of the censuses behind these figures are not reviewed yet, and not counted.",
                self.unread,
            )
        return words % {"counted": local_amount(self.unread, "records")}


def records_behind(user, rounds, parts):
    """The fields of a RecordsBehind of the RoundParts that figures are made from; `rounds` are those in scope. A query each for results
    given out and for second measurements, where there are any."""
    parts = tuple(parts)
    return {
        "unread": sum({part.round: part.unread for part in parts}.values()),
        "unread_count": rounds.unread_count,
        "overtaken": results_overtaken(user, {part.round for part in parts if part.is_given_out}),
        "second": agreement_words({part.round for part in parts if part.is_drawn}),
    }
