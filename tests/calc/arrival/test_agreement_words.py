"""Agreement of two people in sentences. The heights are those of check value V10.4 of the tests of agreement."""

from datetime import date

import pytest

from plantings.calc.arrival.agreement_words import agreement_lines
from plantings.calc.census.own_measurements import own_measurement
from plantings.calc.census.rows import SeenRow


def seen(status="A", **values):
    return SeenRow(status=status, observed_on=date(2026, 9, 12), **values)


def test_heights_classes_and_status_have_a_sentence_each():
    heights = [(112, 110), (98, 101), (130, 127), (75, 75), (141, 138), (88, 90)]
    pairs = [
        (seen(height_cm=one, canker_class=0), seen(height_cm=other, canker_class=place % 2)) for place, (one, other) in enumerate(heights)
    ]
    status, height, canker = agreement_lines(pairs)
    assert status == (
        "Status: 6 of 6 trees the same; kappa: no disagreement possible to tell: both have recorded one and the same class everywhere."
    )
    assert height.startswith(
        "Height: second less first −0.5 cm, 95 % of the differences from −5.6 to 4.6 cm, 6 trees, intraclass correlation 0.9"
    )
    assert canker.startswith("Canker: 3 of 6 trees the same; kappa 0.00")


def test_kappa_of_trees_that_are_too_much_alike_has_no_range():
    """19 of 20 statuses alike where the first person saw all alive: kappa is 0 by its definition, and its standard error is 0."""
    pairs = [(seen(canker_class=one % 3), seen(canker_class=one % 3) if one else seen("D", canker_class=0)) for one in range(20)]
    status, canker = agreement_lines(pairs)
    assert status == "Status: 19 of 20 trees the same; kappa 0.00: too few kinds of records for an interval."
    assert canker == "Canker: 20 of 20 trees the same; kappa 1.00: both agree everywhere, which gives no interval."


def test_own_measurements_have_a_sentence_each():
    spot = own_measurement(code="leaf_spot", version=1, name="Leaf spot", taken="Seen.", classes=[(0, "none"), (1, "few"), (2, "most")])
    crown = own_measurement(code="crown", version=1, name="Crown width", taken="At its widest.", unit="cm", low=0, high=900)
    one, other = ({"own_values": {spot.field: grade, crown.field: width}} for grade, width in ((0, 30), (2, 34)))
    _status, first, second = agreement_lines([(seen(**one), seen(**other))] * 6, [spot, crown])
    assert first.startswith("Leaf spot: 0 of 6 trees the same; kappa")
    assert second.startswith("Crown width: second less first 4 cm, 95 % of the differences from 4 to 4 cm, 6 trees")


def test_one_tree_has_no_spread():
    [_status, height] = agreement_lines([(seen(height_cm=112), seen(height_cm=110))])
    assert height == "Height: second less first −2 cm, 1 tree."


@pytest.mark.parametrize("pairs", [[], [(seen(), seen("D"))], [(seen(height_cm=112), seen())]])
def test_what_only_one_of_them_measured_is_left_out(pairs):
    assert len(agreement_lines(pairs)) == bool(pairs)
