"""What is odd about the outline of a site."""

from plantings.calc.sites.outlines import outline_doubts


def test_an_outline_of_a_county_or_far_from_its_point_is_odd():
    assert outline_doubts(9_999_000.0, 1_999.0) == []
    assert outline_doubts(10_001_000.0, None) == [
        "This outline has 1,000 ha, more than any planting: the file may be of a county or a forest."
    ]
    assert outline_doubts(21_930.0, 12_340.0) == ["This outline is 12.3 km from the point of the site: it may be that of another site."]
