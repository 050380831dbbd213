"""A shipment is asked about every place it goes to; a place near a border, a territory, a protected area. Invented rules and papers."""

from dataclasses import replace

import pycountry
import pytest

from registry.compliance.gate.answers import MET, MISSING
from registry.compliance.gate.facts import Place
from registry.compliance.gate.places import NO, UNKNOWN, YES, matches
from registry.compliance.shared.territories import TERRITORIES, other_codes
from tests.compliance.scene import answer, asked, finding, paper, reasons, rule

SITE = Place("US-NY", "Clinton", "ST-07", "PT-07")
OWNER = Place("US-VT", "Chittenden", "", "PT-07")
TO_BOTH = asked(destination=SITE, also_to=(OWNER,))


def test_a_rule_of_either_place_applies():
    rules = [rule(code="R-NY", destinations=("US-NY",)), rule(code="R-VT", destinations=("US-VT",)), rule()]
    found = answer(TO_BOTH, rules, papers=[])
    assert [one.code for one in found.findings if one.kind == "requirement"] == ["R-NY", "R-VT"]


def test_a_paper_covers_the_place_its_rule_is_about():
    rules = [rule(code="R-NY", destinations=("US-NY",)), rule(code="R-VT", destinations=("US-VT",))]
    found = answer(TO_BOTH, rules, [paper("P-NY", destinations=("US-NY",))])
    assert (finding(found, "R-NY").met_by, finding(found, "R-NY").status) == (("P-NY",), MET)
    assert finding(found, "R-VT").status == MISSING
    assert "destination: wrong destination: it covers US-NY, this is US-VT, Chittenden, partner PT-07" in reasons(found, "R-VT")


def test_a_rule_about_every_place_needs_a_paper_for_each():
    everywhere = rule(destinations=())
    found = finding(answer(TO_BOTH, [everywhere], [paper("P-NY", destinations=("US-NY",))]))
    assert (found.status, found.wanted) == (MISSING, (("permit",),))
    both = [paper("P-NY", destinations=("US-NY",)), paper("P-VT", destinations=("US-VT",))]
    assert finding(answer(TO_BOTH, [everywhere], both)).met_by == ("P-NY", "P-VT")


def test_a_cap_is_drawn_once_for_two_places():
    found = answer(TO_BOTH, [rule(destinations=())], [paper(cap_quantity=200, cap_unit="plants")])
    assert [(draw.paper, draw.quantity) for draw in found.draws] == [("P-WI", 200)]


BORDER = Place("US-VT", "Chittenden", near=("US-NY/Clinton", "US-VT/Addison"))


@pytest.mark.parametrize(
    ("patterns", "expected"),
    [
        (["US"], YES),
        (["US-VT"], UNKNOWN),
        (["US-NY"], UNKNOWN),
        (["US-NY/Clinton"], UNKNOWN),
        (["US-NY/Essex"], NO),
        (["US-VT/Addison"], UNKNOWN),
        (["outside US-NY"], UNKNOWN),
        (["US-NH"], NO),
    ],
)
def test_near_a_border_either_side_is_possible(patterns, expected):
    assert matches(patterns, BORDER) == expected


def test_near_a_border_the_rules_of_both_sides_apply_and_say_why():
    at_border = asked(destination=BORDER)
    found = finding(answer(at_border, [rule(destinations=("US-NY",))], papers=[paper(destinations=("US-NY",))]))
    assert found.notes == (
        "The destination lies too near US-NY/Clinton or US-VT/Addison to tell from its point, so the rule is taken to apply.",
    )
    assert "find out on which side of the border the site lies" in found.next_step


def test_a_typed_county_is_marked_where_a_rule_goes_by_it():
    typed = Place("CA-ON", "Lanark", county_typed=True)
    found = finding(answer(asked(destination=typed), [rule(destinations=("CA-ON/Lanark",))], papers=[]))
    assert found.notes == ("The county Lanark was typed and is not checked against an outline.",)
    assert finding(answer(asked(destination=typed), [rule(destinations=("CA-ON",))], papers=[])).notes == ()


@pytest.mark.parametrize("code", ["PR", "US-PR"])
def test_a_territory_answers_as_itself_and_as_its_countrys(code):
    place = Place(code, also=other_codes(code))
    assert [matches([pattern], place) for pattern in ("PR", "US-PR", "US", "US-VT")] == [YES, YES, YES, NO]
    assert matches(["outside US"], place) == NO


def test_the_territories_are_in_both_lists_of_iso_3166():
    # ISO 3166-1 and 3166-2 as given by pycountry
    for code, parts in TERRITORIES.items():
        assert pycountry.countries.get(alpha_2=code) and all(pycountry.subdivisions.get(code=part) for part in parts)


def test_a_rule_on_a_protected_area_applies_inside_it():
    inside, outside = replace(SITE, areas=("GMNF",)), SITE
    near, unknown = replace(SITE, near=("area:GMNF",)), replace(SITE, areas_known=False)
    assert [matches(["area:GMNF"], place) for place in (inside, outside, near, unknown)] == [YES, NO, UNKNOWN, UNKNOWN]
