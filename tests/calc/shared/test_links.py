"""Addresses a phone opens: RFC 3966 for numbers, RFC 5870 for places."""

import pytest

from registry.calc.shared.links import decimal_degrees, geo_address, tel_address


@pytest.mark.parametrize(
    ("written", "address"),
    [
        ("555-0100", "tel:5550100"),
        ("+49 (0)30 / 123 456", "tel:+4930123456"),
        ("(+1) 802.555.0100", "tel:+18025550100"),
        ("802-555-0100 x12", "tel:8025550100;ext=12"),
        ("", ""),
        ("javascript:alert(1)", "tel:1"),
        ("none", ""),
    ],
)
def test_a_number_as_written_becomes_one_that_dials(written, address):
    assert tel_address(written) == address


def test_a_place_is_written_latitude_first_with_its_signs():
    # RFC 5870, section 6.1: geo:13.4125,103.8667 is at 13.4125 N, 103.8667 E
    assert geo_address(103.8667, 13.4125) == "geo:13.41250,103.86670"
    assert decimal_degrees(-70.0, -33.4567891) == "-33.45679,-70.00000"
