"""Places, taxa, stored form, plain words, override, and the examples in docstrings."""

import doctest
import importlib
import pkgutil
from datetime import date

import pycountry
import pytest

import registry.compliance
from registry.calc.shared.screen import day_words, list_words
from registry.compliance.gate.codec import from_json, loads, to_json
from registry.compliance.gate.explain import explain
from registry.compliance.gate.facts import Facts, Place, Question
from registry.compliance.gate.override import override_problem
from registry.compliance.gate.places import NO, UNKNOWN, YES, matches, read_pattern
from registry.compliance.shared.taxa import taxon_in
from tests.compliance.scene import DAY, answer, asked, line, paper, rule

DANE = Place("US-WI", "Dane", "ST-05", "PT-05")


@pytest.mark.parametrize("name", [module.name for module in pkgutil.iter_modules(registry.compliance.__path__)])
def test_the_examples_of_a_module_print_what_they_say(name):
    assert doctest.testmod(importlib.import_module(f"registry.compliance.{name}")).failed == 0


@pytest.mark.parametrize(
    ("patterns", "place", "expected"),
    [
        ([], Place(), YES),
        (["US"], DANE, YES),
        (["CA"], DANE, NO),
        (["US"], Place(), UNKNOWN),
        (["US-WI"], Place("US"), UNKNOWN),
        (["US-WI"], Place("UA"), NO),
        (["outside US-WI"], Place("US"), UNKNOWN),
        (["outside US-WI"], DANE, NO),
        (["outside US-WI"], Place("US-MI"), YES),
        (["US-WI/Dane"], Place("US-WI"), UNKNOWN),
        (["US-WI/Dane"], Place("US-MI", "Dane"), NO),
        (["outside US-WI/Dane"], Place("US-WI", "Rock"), YES),
        (["outside US-WI/Dane"], Place("US-MI"), YES),
        (["site:ST-05"], DANE, YES),
        (["site:ST-05"], Place("US-WI"), UNKNOWN),
        (["outside partner:PT-05"], DANE, NO),
        (["US-MI", "US-WI"], DANE, YES),
        (["outside US-MI", "outside US-WI"], DANE, NO),
        (["outside US-WI", "outside US-MI"], DANE, NO),
        (["outside US-MI", "outside US-WI"], Place("US-VT"), YES),
        (["US", "outside US-MI"], Place("CA-ON"), NO),
        (["US-MI", "site:ST-05"], Place("US-VT"), UNKNOWN),
    ],
)
def test_a_place_lies_inside_outside_or_it_is_not_known(patterns, place, expected):
    assert matches(patterns, place) == expected


@pytest.mark.parametrize(
    "pattern", ["", "Vermont", "us-vt", "US_VT", "US-", "US-VT/", "site:", "outside", "outside outside US", "US-VT Dane"]
)
def test_what_is_not_a_place_pattern_is_refused_with_advice(pattern):
    with pytest.raises(ValueError, match="is not a place pattern. Write US, US-VT"):
        read_pattern(pattern)


def test_every_country_and_subdivision_of_iso_3166_is_a_place_pattern():
    # ISO 3166-1 and 3166-2 as given by pycountry
    codes = [country.alpha_2 for country in pycountry.countries] + [one.code for one in pycountry.subdivisions]
    assert len(codes) > 5000
    assert all(read_pattern(code) == (False, "region", code, "") for code in codes)
    assert all(matches([one.country_code], Place(one.code)) == YES for one in pycountry.subdivisions)


@pytest.mark.parametrize(
    ("name", "listed", "expected"),
    [
        ("Juglans cinerea", ["juglans  CINEREA"], True),
        ("Juglans ×bixbyi", ["Juglans"], True),
        ("×Sorbaronia mitschurinii", ["Sorbaronia"], True),
        ("Juglans cinerea × Juglans ailantifolia", ["Juglans cinerea"], False),
        ("Juglansia cinerea", ["Juglans"], False),
        ("Juglans", ["Juglans cinerea"], False),
    ],
)
def test_names_of_taxa_are_compared_as_names(name, listed, expected):
    assert taxon_in(name, listed) is expected


def stored_place(code=""):
    lists = {"also": [], "near": [], "areas": []}
    return {"code": code, "county": "", "site": "", "partner": ""} | lists | {"areas_known": True, "county_typed": False}


def test_a_stored_question_has_kind_format_and_iso_days():
    assert to_json(Question("hold", date(2026, 4, 1), destination=Place("US-VT"))) == {
        "format": 1,
        "kind": "question",
        "activity": "hold",
        "on": "2026-04-01",
        "lines": [],
        "origin": stored_place(),
        "destination": stored_place("US-VT"),
        "transit": [],
        "receiver": "",
        "landowner_agreement_wanted": False,
        "people": [],
        "edition": 9,
        "also_to": [],
        "acting_for": "",
        "arrives_on": None,
    }


BASE = {"format": 1, "kind": "question", "activity": "hold", "on": "2026-04-01"}


@pytest.mark.parametrize(
    ("stored", "told"),
    [
        ([], "names its kind"),
        (BASE | {"kind": "opinion"}, "names its kind: question, facts, answer"),
        (BASE | {"format": 2}, "of format 2; this edition reads format 1"),
        ({"kind": "question"}, "of format None"),
        (BASE | {"colour": "red"}, "question: field “colour” is not known"),
        ({"format": 1, "kind": "question", "on": "2026-04-01"}, "question: field “activity” is absent"),
        (BASE | {"on": "1 April"}, "question.on: give a day such as 2026-10-12, not '1 April'"),
        (BASE | {"lines": {}}, "question.lines: give a list"),
        (BASE | {"lines": [{"lot": "A"}, {"lot": 7}]}, r"question.lines\[1\].lot: give str, not 7"),
        (BASE | {"lines": ["A"]}, r"question.lines\[0\]: give fields"),
        (BASE | {"lines": [{"lot": "A", "quantity": True}]}, r"question.lines\[0\].quantity: give int, not True"),
        (BASE | {"landowner_agreement_wanted": 1}, "landowner_agreement_wanted: give bool, not 1"),
    ],
)
def test_a_record_that_cannot_be_read_says_where(stored, told):
    with pytest.raises(ValueError, match=told):
        from_json(stored)


def test_text_that_is_not_json_is_refused():
    with pytest.raises(ValueError, match="Expecting"):
        loads("{")


def test_something_else_has_no_stored_form():
    with pytest.raises(TypeError, match="Place has no stored form"):
        to_json(Place())


def test_a_record_older_than_a_field_takes_its_default():
    assert from_json({"format": 1, "kind": "facts"}) == Facts()


def test_an_answer_is_given_in_plain_words():
    lines = (line(lot="A", may_classes=("engineered",), quantity=500), line(lot="B", form="scion", quantity=50))
    rules = [
        rule(verified_on=None, is_example=True),
        rule(code="R-GE", title="Engineered material", classes=("engineered",), any_of=(("permit", "notification"),)),
    ]
    papers = [
        paper(forms=("bareroot",), cap_quantity=1000, cap_unit="plants", drawn=300, under=("R-WI",)),
        paper("N-1", "notification", ends_on=date(2026, 3, 31)),
    ]
    assert explain(answer(asked(lines=lines), rules, papers)) == [
        "Dispatch of a shipment on 20 Apr 2026: stopped until what is missing is on file.",
        "R-GE Engineered material (edition 2026): missing, blocking. Lots: A.",
        "  Lot A may contain engineered: the rule applies for that reason alone.",
        "  Needed: notification or permit.",
        "  Not met by N-1 Permit into Wisconsin: not in force on 20 Apr 2026: ended on 31 Mar 2026.",
        "  Not met by P-WI Permit into Wisconsin: it was issued under R-WI.",
        "  Next: N-1: ask the authority to renew it, or for a new one. Then check with the local authority.",
        "R-WI Walnut family into Wisconsin (edition 2026): missing, blocking. Lots: A, B.",
        "  This rule is an example, not law.",
        "  The rule is not verified: ask the authority.",
        "  Needed: permit.",
        "  Met in part by: P-WI (lot A).",
        "  Not covered: lot B.",
        "  Not met by P-WI Permit into Wisconsin: wrong form: it covers bareroot, this is scion (lot B).",
        "  Next: Ask the authority whether this rule holds, and record who said so and when. "
        "P-WI, lot B: ask the authority for an amendment (form) or for another paper. Then check with the local authority.",
        "Drawn from a cap when done: 500 plants of lot A under P-WI.",
        "Check with the local authority. Nothing recorded here is a permission.",
    ]  # fmt: skip


def test_no_answer_says_that_something_is_allowed():
    told = "\n".join(
        explain(answer()) + explain(answer(papers=[])) + explain(answer(rules=[])) + explain(answer(asked(activity="destroy")))
    )
    assert not {"allowed", "permitted", "legal", "approved", "may ship"} & set(told.lower().replace(",", " ").replace(".", " ").split())


@pytest.mark.parametrize(
    ("papers", "role", "reason", "told"),
    [
        ([], "lead", "Permit granted by phone, copy follows", ""),
        ([], "lead", "  ok      ", "Give the reason in a sentence"),
        ([], "coordinator", "Permit granted by phone, copy follows", "Only the programme lead"),
        ([paper()], "lead", "Permit granted by phone, copy follows", "nothing to override"),
    ],
)
def test_only_the_lead_overrides_and_only_with_a_reason(papers, role, reason, told):
    problem = override_problem(answer(papers=papers), role, reason)
    assert told in problem if told else problem == ""


def test_days_and_lists_are_written_as_one_says_them():
    assert (day_words(DAY), list_words([]), list_words(["a"]), list_words(["a", "b", "c"], "and")) == ("20 Apr 2026", "", "a", "a, b and c")
