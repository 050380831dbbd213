"""The part of a file that a Range header asks for; the expected pairs are those of RFC 9110, section 14.1.2 (from memory)."""

import pytest

from registry.calc.shared.byte_range import byte_range


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("bytes=0-499", (0, 499)),  # the first 500 of 10,000, as the RFC's example
        ("bytes=500-999", (500, 999)),
        ("bytes=-500", (9500, 9999)),
        ("bytes=9500-", (9500, 9999)),
        ("bytes=0-0", (0, 0)),
        ("bytes=-20000", (0, 9999)),
        ("bytes=-0", None),
        ("bytes=-", None),
        ("bytes=10000-", None),
        ("bytes=5-4", None),
        ("bytes=0-0,-1", None),
        ("rows=0-4", None),
        ("bytes=0x1-", None),
    ],
)
def test_a_range_is_read_as_the_standard_says(header, expected):
    assert byte_range(header, 10_000) == expected
