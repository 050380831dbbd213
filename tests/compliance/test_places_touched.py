"""A shipment is asked about every place it goes to; a place near a border, a territory, a protected area. Invented rules and papers."""

from dataclasses import replace

import pycountry
import pytest

from registry.compliance.gate.answers import MET, MISSING
from registry.compliance.gate.facts import Place
from registry.compliance.gate.place_codes import check_pattern
from registry.compliance.gate.places import NO, UNKNOWN, YES, matches
from registry.compliance.shared.territories import DIVIDED, EARLIER_CODES, TERRITORIES, is_in_region, other_codes
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
    for code, parts in (TERRITORIES | DIVIDED).items():
        assert pycountry.countries.get(alpha_2=code) or pycountry.subdivisions.get(code=code)
        assert all(pycountry.subdivisions.get(code=part) for part in set(parts) - EARLIER_CODES), code


def test_no_territory_of_iso_3166_is_missing():
    # types of subdivisions as pycountry 24 and later write them; Taiwan is a province there, the French ones are all overseas
    kinds = {"Outlying area", "Special administrative region", "Country", "Special municipality", "Arctic region"}
    found = {
        one.code for one in pycountry.subdivisions
        if one.country_code in ("CN", "FI", "FR", "NL", "NO", "US")
        and (one.type in kinds or one.type.startswith("Overseas") or one.code in ("FI-01", "CN-TW"))
    }  # fmt: skip
    assert found == {part for parts in (TERRITORIES | DIVIDED).values() for part in parts} - EARLIER_CODES


@pytest.mark.parametrize(
    ("code", "here", "elsewhere"),
    [
        *(((code), (code, *parts, parts[0][:2]), f"{parts[0][:2]}-ZZ") for code, parts in TERRITORIES.items()),
        *((part, (code, *parts, part[:2]), f"{part[:2]}-ZZ") for code, parts in TERRITORIES.items() for part in parts),
        ("NL-BQ2", ("BQ", "BQ-SA", "NL"), "NL-BQ1"), ("BQ-SA", ("BQ", "NL-BQ2", "NL"), "BQ-BO"), ("BQ", ("BQ", "NL"), "NL-GE"),
        ("NO-21", ("SJ", "NO"), "NO-22"), ("SJ", ("SJ", "NO"), "NO-03"), ("TW-TPE", ("TW", "CN-TW", "CN"), "CN-FJ"),
    ],
)  # fmt: skip
def test_a_territory_answers_to_every_code_and_to_its_country(code, here, elsewhere):
    place = Place(code, also=other_codes(code))
    assert {pattern: matches([pattern], place) for pattern in here} == dict.fromkeys(here, YES)
    assert matches([elsewhere], place) == NO
    assert all(is_in_region(code, pattern) for pattern in here) and not is_in_region(code, elsewhere)


@pytest.mark.parametrize(("code", "pattern"), [("BQ", "NL-BQ1"), ("BQ", "BQ-SE"), ("SJ", "NO-21"), ("CN-TW", "TW-TPE"), ("NL", "SX")])
def test_a_part_of_a_territory_is_unknown_where_only_the_whole_is_given(code, pattern):
    place = Place(code, also=other_codes(code))
    assert (matches([pattern], place), matches([f"outside {pattern}"], place)) == (UNKNOWN, UNKNOWN)


def test_near_a_territory_either_code_of_it_is_possible():
    at_border = Place("FR-MF", also=other_codes("FR-MF"), near=("NL-SX",))
    assert [matches([code], at_border) for code in ("SX", "NL-SX", "MF", "NL", "US")] == [UNKNOWN, UNKNOWN, UNKNOWN, UNKNOWN, NO]
    inland = Place("US-PR", "Ponce", also=other_codes("US-PR"), near=("US-PR/Adjuntas",))
    assert [matches([code], inland) for code in ("PR", "US-PR", "US", "PR/Ponce")] == [YES, YES, YES, UNKNOWN]


def test_answers_up_to_edition_5_compare_each_code_by_itself():
    inland = Place("US-PR", "Ponce", also=("PR",), near=("US-PR/Adjuntas",))
    cases = [(["PR"], Place("US")), (["NL-GE"], Place("BQ", also=("NL",))), (["PR"], inland), (["US-PR"], inland), (["PR/Ponce"], inland)]
    assert [matches(*case, 5) for case in cases] == [NO, UNKNOWN, UNKNOWN, YES, UNKNOWN]
    assert [matches(*case) for case in cases] == [UNKNOWN, NO, YES, YES, UNKNOWN]


@pytest.mark.parametrize("pattern", ["FR-GP", "outside FR-971", "GP", "PR/Ponce"])
def test_a_rule_can_name_a_territory_by_each_code(pattern):
    check_pattern(pattern)


@pytest.mark.parametrize("pattern", ["FR-ZZ", "PR/Ponse"])
def test_a_code_or_county_of_no_territory_is_refused(pattern):
    with pytest.raises(ValueError, match="FR-ZZ|Did you mean Ponce"):
        check_pattern(pattern)


def test_a_rule_on_a_protected_area_applies_inside_it():
    inside, outside = replace(SITE, areas=("GMNF",)), SITE
    near, unknown = replace(SITE, near=("area:GMNF",)), replace(SITE, areas_known=False)
    assert [matches(["area:GMNF"], place) for place in (inside, outside, near, unknown)] == [YES, NO, UNKNOWN, UNKNOWN]
