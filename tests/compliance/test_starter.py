"""The starter set of rules: read whole, cited, unverified, with places that exist (ISO 3166 as given by pycountry)."""

import csv
from dataclasses import fields
from datetime import date

import pycountry
import pytest

from registry.compliance.gate.classes import ALWAYS_INHERITED, BASES, ClassRule
from registry.compliance.gate.decide import decide
from registry.compliance.gate.facts import Facts, Line, Place, Question, Requirement
from registry.compliance.gate.places import read_pattern
from registry.compliance.gate.words import ACTIVITIES, NEVER_BLOCKED, TYPES
from registry.compliance.shared.taxon_names import read_name
from tests.places import PROJECT

STARTER = PROJECT / "fixtures" / "starter"


def rows(name, made_of):
    """The rows by the fields of what is made of them; the sheets have the headers of the site's own templates, in that order."""
    with (STARTER / name).open(encoding="utf-8", newline="") as file:
        _headers, *found = csv.DictReader(file, [field.name for field in fields(made_of)])
        return found


def words(cell):
    return tuple(filter(None, (word.strip() for word in cell.split(";"))))


def requirement(row):
    lists = ("activities", "classes", "forms", "taxa", "origins", "destinations", "transits")
    days = ("from_on", "until_on", "verified_on", "review_by")
    return Requirement(
        **(
            row
            | {name: words(row[name]) for name in lists}
            | {name: date.fromisoformat(row[name]) if row[name] else None for name in days}
            | {name: {"yes": True, "no": False}[row[name]] for name in ("blocking", "is_example")}
            | {"any_of": tuple(tuple(types.split(" or ")) for types in words(row["any_of"]))}
        )
    )


RULES = [requirement(row) for row in rows("requirements.csv", Requirement)]
CLASSES = [
    ClassRule(row["code"], row["title"], row["by"], words(row["taxa"]), words(row["forms"]), {"yes": True, "no": False}[row["is_inherited"]])
    for row in rows("material_classes.csv", ClassRule)
]  # fmt: skip
by_rule = pytest.mark.parametrize("rule", RULES, ids=[rule.code for rule in RULES])


def test_no_code_is_there_twice():
    assert len({rule.code for rule in RULES}) == len(RULES) >= 10
    assert len({one.code for one in CLASSES}) == len(CLASSES)


@by_rule
def test_a_starter_rule_names_its_source_and_is_unverified(rule):
    assert rule.source and rule.edition and rule.title
    assert rule.text.startswith("As read in the edition named; check with the authority.")
    assert (rule.verified_on, rule.verified_with, rule.verified_by, rule.review_by) == (None, "", "", None)


@by_rule
def test_the_codes_of_a_rule_are_known(rule):
    assert rule.activities and set(rule.activities) <= ACTIVITIES.keys() - NEVER_BLOCKED
    assert {code for types in rule.any_of for code in types} <= TYPES.keys()
    assert set(rule.classes) <= {one.code for one in CLASSES}


@by_rule
def test_the_places_of_a_rule_exist(rule):
    for pattern in (*rule.origins, *rule.destinations, *rule.transits):
        _, field, code, _ = read_pattern(pattern)
        assert field == "region"
        known = pycountry.subdivisions.get(code=code) if "-" in code else pycountry.countries.get(alpha_2=code)
        assert known is not None


def test_the_starter_classes_use_known_bases():
    assert {one.by for one in CLASSES} <= BASES.keys()
    assert {"engineered", "donor_ancestry"} == {one.code for one in CLASSES if one.by in ALWAYS_INHERITED}


@pytest.mark.parametrize(
    ("activity", "classes", "form", "origin", "destination", "codes"),
    [
        ("dispatch", ("engineered",), "seed", "US-VT", "US-NY", ["US-GE-MOVE"]),
        ("establish", ("engineered",), "bareroot", "US-VT", "US-NY", ["US-GE-RELEASE"]),
        ("dispatch", ("quarantine_host",), "seed", "US-VT", "US-OR", ["US-OR-HOST"]),
        ("dispatch", ("quarantine_host",), "seed", "US-OR", "US-OR", []),
        ("dispatch", ("quarantine_host",), "seed", "US-VT", "US-MI", []),
        ("dispatch", ("quarantine_host",), "scion", "US-VT", "US-MI", ["US-MI-GALLWASP"]),
        ("dispatch", (), "seed", "US-VT", "CA-ON", ["CA-IMPORT-PLANTS"]),
        ("dispatch", (), "seed", "CA-QC", "CA-ON", []),
        ("inoculate", ("live_pathogen",), "", "US-VT", "US-VT", ["US-PATHOGEN"]),
        ("dispatch", ("listed_forest_species",), "seed", "GB-SCT", "GB-ENG", ["GB-FRM-SUPPLY"]),
        ("pesticide", (), "", "", "US-VT", ["US-PESTICIDE-RECORD"]),
    ],
)
def test_starter_rules_that_apply(activity, classes, form, origin, destination, codes):
    line = Line("L1", classes=classes, form=form, quantity=10, unit="seeds")
    question = Question(activity, date(2026, 4, 20), (line,), Place(origin), Place(destination), receiver="H. C.")
    found = decide(question, Facts(tuple(RULES)))
    rules = [one for one in found.findings if one.kind == "requirement"]
    assert [one.code for one in rules] == codes
    assert all(one.unverified for one in rules)
    assert found.verdict == ("stop" if any(one.severity == "blocking" for one in rules) else "check")


@by_rule
def test_a_starter_rule_can_apply_to_some_material(rule):
    by_code = {one.code: one for one in CLASSES}
    for code in rule.classes:
        kind = by_code[code]
        assert kind.taxa if kind.by == "taxon" else kind.forms if kind.by == "form" else True
        assert all(read_name(name) for name in kind.taxa)
