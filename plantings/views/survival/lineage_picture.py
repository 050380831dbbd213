"""The picture of lineages beside the native check: places of its marks on one scale, in percent of its width."""

from dataclasses import dataclass
from math import ceil, floor

from plantings.calc.lineages.words import difference_range, lineage_sentence, signed
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_count, local_number

_LEFT, _RIGHT = 2.0, 98.0
_STEP = 0.2


@dataclass(frozen=True, slots=True)
class Scale:
    """The ends of the scale, differences from the native check."""

    low: float
    high: float

    def at(self, value):
        """Percent of the width; values beyond an end are at the end."""
        inside = min(max(value, self.low), self.high)
        return round(_LEFT + (inside - self.low) / (self.high - self.low) * (_RIGHT - _LEFT), 2)

    def holds(self, value):
        return self.low <= value <= self.high

    @property
    def ticks(self):
        first, last = round(self.low / _STEP), round(self.high / _STEP)
        return [
            (self.at(step * _STEP), local_number(signed(step * _STEP).rstrip("0").rstrip(".") or "0")) for step in range(first, last + 1)
        ]


@dataclass(frozen=True, slots=True)
class Line:
    """One lineage: its words and the places of its marks. A mark that is not drawn is None."""

    label: str
    sentence: str
    figure: str
    n: str
    dot: float
    low: float | None
    high: float | None
    low_open: bool
    high_open: bool
    band: tuple[float, float] | None
    shrunk: float | None
    shrunk_words: str
    ticks: list[float]


def scale_of(comparison):
    """A scale that holds every dot, site and check; an interval may leave it."""
    values = [0.0]
    for one in comparison.ranked:
        values += [one.row.difference.estimate, *(mark.difference for mark in one.sites if mark.difference is not None)]
        values += [one.shrunk.difference.estimate] if one.shrunk and one.shrunk.difference else []
    if comparison.donor and comparison.donor.estimate is not None:
        values.append(comparison.donor.estimate)
    low, high = floor(round(min(values) / _STEP, 9)), ceil(round(max(values) / _STEP, 9))
    return Scale(max(-1.0, low * _STEP - _STEP * (low == 0)), min(1.0, max(high, 1) * _STEP))


def lineage_picture(comparison):
    """Lines and scale of the template."""
    scale = scale_of(comparison)
    donor = comparison.donor
    has_donor = donor is not None and donor.estimate is not None
    return {
        "lines": [_line(one, scale) for one in comparison.ranked],
        "ticks": scale.ticks,
        "native": scale.at(0),
        "donor": scale.at(donor.estimate) if has_donor else None,
        "donor_words": local_text(difference_range(donor)) if has_donor else "",
    }


def _line(one, scale):
    row, difference = one.row, one.row.difference
    ends = (difference.low, difference.high)
    shift = difference.estimate - row.share
    band = (scale.at(row.band_low + shift), scale.at(row.band_high + shift))
    expected = one.shrunk.difference if one.shrunk else None
    return Line(
        label=one.label, sentence=local_text(lineage_sentence(one)), figure=local_text(difference_range(difference)), n=local_count(row.n),
        dot=scale.at(difference.estimate), low=scale.at(ends[0]), high=scale.at(ends[1]), low_open=not scale.holds(ends[0]),
        high_open=not scale.holds(ends[1]), band=(band[0], round(band[1] - band[0], 2)) if band[1] > band[0] else None,
        shrunk=scale.at(expected.estimate) if expected else None, shrunk_words=local_number(signed(expected.estimate)) if expected else "",
        ticks=[scale.at(mark.difference) for mark in one.sites if mark.difference is not None],
    )  # fmt: skip
