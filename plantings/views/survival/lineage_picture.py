"""The picture of lineages beside the native check, or of their survival where there is none: a row for each on one scale, in percent of its
width."""

from dataclasses import dataclass
from math import ceil, floor

from plantings.calc.lineages.words import difference_range, lineage_sentence, signed
from plantings.calc.results import Difference
from registry.calc.shared.shapes import Box, Dot, Line, Picture, Words
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_count, local_number

_LEFT, _RIGHT = 2.0, 98.0
_STEP = 0.2
SITES_DRAWN = 60
AXIS, ROW, _MIDDLE = 26, 36, 13  # heights in units: of the scale, of a row, of the estimate in a row


@dataclass(frozen=True, slots=True)
class Scale:
    """The ends of the scale, differences from the native check; or survival, without signs, where there is none."""

    low: float
    high: float
    is_difference: bool = True

    def at(self, value):
        """Percent of the width; values beyond an end are at the end."""
        inside = min(max(value, self.low), self.high)
        return round(_LEFT + (inside - self.low) / (self.high - self.low) * (_RIGHT - _LEFT), 2)

    def holds(self, value):
        return self.low <= value <= self.high

    @property
    def ticks(self):
        first, last = round(self.low / _STEP), round(self.high / _STEP)
        words = signed if self.is_difference else "{:.2f}".format
        return [
            (self.at(step * _STEP), local_number(words(step * _STEP).rstrip("0").rstrip(".") or "0")) for step in range(first, last + 1)
        ]


@dataclass(frozen=True, slots=True)
class LineageRow:
    """One lineage: its words, and its marks on the scale as a Picture."""

    label: str
    sentence: str
    figure: str
    n: str
    shrunk_words: str
    picture: Picture


def scale_of(comparison):
    """A scale that holds every dot, site and check; an interval may leave it."""
    if not comparison.has_native:
        return Scale(0.0, 1.0, is_difference=False)
    values = [0.0]
    for one in comparison.ranked:
        values += [one.row.difference.estimate, *(mark.difference for mark in one.sites if mark.difference is not None)]
        values += [one.shrunk.difference.estimate] if one.shrunk and one.shrunk.difference else []
    if comparison.donor and comparison.donor.estimate is not None:
        values.append(comparison.donor.estimate)
    low, high = floor(round(min(values) / _STEP, 9)), ceil(round(max(values) / _STEP, 9))
    return Scale(max(-1.0, low * _STEP - _STEP * (low == 0)), min(1.0, max(high, 1) * _STEP))


def lineage_picture(comparison, scale=None):
    """The scale and a row for each lineage: what the template shows, and a print puts together. A part of a comparison is drawn on the
    scale of all."""
    scale = scale or scale_of(comparison)
    donor = comparison.donor if comparison.donor is not None and comparison.donor.estimate is not None else None
    uprights = [Line("grid", x, 0, x, ROW) for x, _words in scale.ticks]
    uprights += [Line("native", scale.at(0), 0, scale.at(0), ROW)] if comparison.has_native else []
    uprights += [Line("donor", scale.at(donor.estimate), 0, scale.at(donor.estimate), ROW)] if donor else []
    axis = [shape for x, words in scale.ticks for shape in (Line("grid", x, 20, x, AXIS), Words("label", x, 14, words, "middle"))]
    return {
        "rows": [_row(one, scale, uprights) for one in comparison.ranked],
        "axis": Picture(100, AXIS, tuple(axis), is_fluid=True),
        "native": scale.at(0) if comparison.has_native else None,
        "donor": scale.at(donor.estimate) if donor else None,
        "donor_words": local_text(difference_range(donor)) if donor else "",
    }


def _ticks(places):
    """Where sites are marked; of many sites those that a reader can tell apart, one to each percent of the width."""
    return places if len(places) <= SITES_DRAWN else sorted({round(place) for place in places})


def _figure(row, scale):
    if scale.is_difference:
        return local_text(difference_range(row.difference))
    return local_number(f"{row.share:.2f}" + ("" if row.low is None else f" ({row.low:.2f}–{row.high:.2f})"))


def _row(one, scale, uprights):
    row = one.row
    if scale.is_difference:
        observed, expected = row.difference, one.shrunk.difference.estimate if one.shrunk and one.shrunk.difference else None
        places, words = [mark.difference for mark in one.sites if mark.difference is not None], signed
    else:
        observed, expected = Difference(row.share, row.low, row.high), one.shrunk.share if one.shrunk else None
        places, words = [mark.share for mark in one.sites], "{:.2f}".format
    shift = observed.estimate - row.share
    low, high = scale.at(row.band_low + shift), scale.at(row.band_high + shift)
    shapes = [Box("band", low, 5, round(high - low, 2), 16)] if high > low else []
    shapes += uprights
    shapes += [Line("site", x, 24, x, 33) for x in _ticks([scale.at(place) for place in places])]
    if observed.low is not None:
        shapes.append(Line("range", scale.at(observed.low), _MIDDLE, scale.at(observed.high), _MIDDLE))
        # an end beyond the scale is open
        ends = [scale.at(end) for end in (observed.low, observed.high) if scale.holds(end)]
        shapes += [Line("range", x, _MIDDLE - 5, x, _MIDDLE + 5) for x in ends]
    shapes += [Dot("shrunken", scale.at(expected), _MIDDLE, 7.5, is_diamond=True)] if expected is not None else []
    shapes.append(Dot("estimate", scale.at(observed.estimate), _MIDDLE, 4))
    return LineageRow(
        label=one.label, sentence=local_text(lineage_sentence(one)), figure=_figure(row, scale), n=local_count(row.n),
        shrunk_words=local_number(words(expected)) if expected is not None else "",
        picture=Picture(100, ROW, tuple(shapes), is_fluid=True),
    )  # fmt: skip
