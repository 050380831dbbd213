"""What is still held of what was received: sums done by hand, definition of this programme."""

import pytest

from registry.calc.lots.leftovers import still_held

HELD, GONE = True, False


@pytest.mark.parametrize(
    ("reports", "unsettled", "expected"),
    [
        ([], None, 0),
        ([(HELD, 10), (GONE, 4)], None, 6),
        ([(GONE, 4), (HELD, 10)], None, 10),
        ([(HELD, 10), (HELD, 12), (GONE, 5), (HELD, 6)], None, 7),
        ([(HELD, 3), (GONE, 5)], None, 0),
        ([(HELD, 10)], 3, 3),
        ([(HELD, 10)], -2, 0),
    ],
)
def test_what_goes_after_a_report_was_among_the_held(reports, unsettled, expected):
    assert still_held(reports, unsettled) == expected
