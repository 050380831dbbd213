"""The starter set of rules: cited, unverified, able to apply, with places that exist (ISO 3166 as given by pycountry)."""

import csv
import re
from dataclasses import fields
from datetime import date

import pycountry
import pytest

from registry.compliance.gate.classes import (
    ALWAYS_INHERITED,
    BASES,
    DECLARED,
    ENGINEERED,
    FORM,
    PATHOGEN,
    ClassRule,
    Lot,
    Own,
    material_classes,
    with_form,
)
from registry.compliance.gate.decide import decide
from registry.compliance.gate.facts import Facts, Line, Place, Question, Requirement
from registry.compliance.gate.places import YES, matches, read_pattern
from registry.compliance.gate.rules import rule_applies
from registry.compliance.gate.words import ACTIVITIES, NEVER_BLOCKED, TYPES
from tests.places import PROJECT

STARTER = PROJECT / "fixtures" / "starter"
READ = "As read in the edition named; check with the authority."
SUMMARY = "From a summary, not from the text itself; check with the authority."
# a genus, or a binomial whose hybrid sign is before its second word; no author, no "spp.", no variety, no formula
TAXON = re.compile(r"[A-Z][a-z]+( ×?[a-z-]{3,})?")


def rows(name, made_of):
    """The rows by the fields of what is made of them; the sheets have the headers of the templates, in that order."""
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
    assert rule.text.startswith((READ, SUMMARY))
    assert (rule.verified_on, rule.verified_with, rule.verified_by, rule.review_by) == (None, "", "", None)


@by_rule
def test_a_starter_rule_says_what_was_read_and_what_it_does_not_say(rule):
    assert re.search(r"\bIt does not (say|speak|list|name|cover|extend|ask|settle)\b", rule.text)
    assert "Read in November 2026: " in rule.text
    assert rule.text.startswith(READ) or "Still to be read: " in rule.text
    assert not re.search(r"\b(allowed|may be (shipped|planted|moved)|no permit is needed|free to)\b", rule.text, re.IGNORECASE)


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


def test_names_of_taxa_are_a_genus_or_a_binomial():
    names = [taxon for one in (*CLASSES, *RULES) for taxon in one.taxa]
    assert names and not [taxon for taxon in names if not TAXON.fullmatch(taxon)]


def test_a_class_by_taxon_has_taxa_and_a_class_by_form_has_forms():
    assert not [one.code for one in CLASSES if (one.by == "taxon" and not one.taxa) or (one.by == FORM and not one.forms)]


def lot_in(one, form, donor="Juglans ailantifolia"):
    """A line of material that falls into a class by the way the class itself names."""
    if one.by == PATHOGEN:  # not a lot: the gate makes this line itself
        return Line("live pathogen", classes=(one.code,))
    rule = ClassRule(one.code, one.title, one.by, one.taxa or ((donor,) if one.by == "donor_ancestry" else ()), one.forms, one.is_inherited)
    own = Own(rule.taxa[:1], is_engineered=one.by == ENGINEERED, declared=(one.code,) if one.by == DECLARED else ())
    found = with_form([rule], material_classes([rule], {}, {}, {"L1": Lot(own=own)})[1]["L1"], form or "".join(one.forms[:1]))
    return Line("L1", own.taxa, found.certain, form=form, quantity=10, unit="seeds")


def place_in(patterns):
    """A place that surely fits the patterns of a rule."""
    plain = [pattern for pattern in patterns if not pattern.startswith("outside ")]
    places = (Place(code) for code in (*plain, "US-VT", "US-KS", "GB-SCT", "DE-BY", "CA-QC"))
    return next(place for place in places if not patterns or matches(patterns, place) == YES)


@by_rule
def test_every_starter_rule_can_apply_to_something(rule):
    form = next(iter(rule.forms), "")
    lines = [lot_in(one, form) for one in CLASSES if one.code in rule.classes]
    lines = lines or [Line("L1", rule.taxa[:1] or ("Juglans cinerea",), form=form, quantity=10, unit="seeds")]
    transit = (place_in(rule.transits),) if rule.transits else ()
    day = rule.until_on or date(2026, 11, 29)
    question = Question(rule.activities[0], day, tuple(lines), place_in(rule.origins), place_in(rule.destinations), transit)
    applied = rule_applies(rule, question)
    assert applied is not None and not applied.may_contain and not applied.notes


BUTTERNUT, CHESTNUT, OAK = "Juglans cinerea", "Castanea dentata", "Quercus rubra"


@pytest.mark.parametrize(
    ("activity", "taxon", "form", "origin", "destination", "codes"),
    [
        ("dispatch", BUTTERNUT, "seed", "US-VT", "US-NY", []),
        ("dispatch", BUTTERNUT, "bareroot", "US-VT", "US-NY", ["US-NURSERY-STOCK"]),
        ("dispatch", CHESTNUT, "seed", "US-VT", "US-OR", ["US-OR-CHESTNUT", "US-OR-NURSERY"]),
        ("dispatch", BUTTERNUT, "seed", "US-VT", "US-OR", ["US-OR-NURSERY"]),
        ("dispatch", CHESTNUT, "seed", "US-OR", "US-OR", []),
        ("dispatch", CHESTNUT, "scion", "US-VT", "US-OR", ["US-NURSERY-STOCK", "US-OR-CHESTNUT", "US-OR-NURSERY", "US-OR-OAKWILT"]),
        ("dispatch", OAK, "seed", "US-VT", "US-OR", ["US-OR-NURSERY"]),
        ("dispatch", CHESTNUT, "pollen", "US-VT", "US-OR", []),
        ("dispatch", CHESTNUT, "seed", "US-PA", "US-MI", []),
        ("dispatch", CHESTNUT, "scion", "US-PA", "US-MI", ["US-MI-GALLWASP", "US-NURSERY-STOCK"]),
        ("dispatch", CHESTNUT, "scion", "CA-ON", "US-MI", ["US-IMPORT-PLANTS", "US-MI-GALLWASP"]),
        ("dispatch", CHESTNUT, "scion", "US-VT", "US-MI", ["US-MI-GALLWASP-OTHER", "US-NURSERY-STOCK"]),
        ("dispatch", BUTTERNUT, "bareroot", "US-TN", "US-WI", ["US-NURSERY-STOCK"]),
        ("dispatch", BUTTERNUT, "bareroot", "US-TN", "US-VA", ["US-NURSERY-STOCK"]),
        ("dispatch", BUTTERNUT, "bareroot", "US-TN", "US-IN", ["US-IN-CANKERS", "US-NURSERY-STOCK"]),
        ("dispatch", BUTTERNUT, "bareroot", "US-TN", "US-OH", ["US-NURSERY-STOCK", "US-OH-CANKERS", "US-OH-NURSERY"]),
        ("dispatch", BUTTERNUT, "seed", "US-TN", "US-NE", []),
        ("dispatch", BUTTERNUT, "bareroot", "US-VT", "US-MN", ["US-NURSERY-STOCK"]),
        ("dispatch", BUTTERNUT, "seed", "US-TN", "US-WI", []),
        ("dispatch", BUTTERNUT, "bareroot", "US-TN", "US-MI", ["US-MI-CANKERS", "US-NURSERY-STOCK"]),
        ("dispatch", BUTTERNUT, "bareroot", "US-VT", "US-PA", ["US-NURSERY-STOCK"]),
        ("dispatch", BUTTERNUT, "scion", "US-VT", "US-CA", ["US-CA-NUT-TREES", "US-NURSERY-STOCK"]),
        ("dispatch", BUTTERNUT, "scion", "US-NV", "US-CA", ["US-CA-NUT-TREES-WEST", "US-NURSERY-STOCK"]),
        ("dispatch", BUTTERNUT, "seed", "US-VT", "US-CA", ["US-CA-NUTS"]),
        ("dispatch", BUTTERNUT, "seed", "US-VT", "CA-ON", ["CA-IMPORT-PLANTS", "CA-ON-PROTECTED", "CA-PROTECTED"]),
        ("dispatch", BUTTERNUT, "seed", "US-VT", "CA-QC", ["CA-IMPORT-PLANTS", "CA-PROTECTED"]),
        ("dispatch", OAK, "seed", "CA-QC", "CA-ON", []),
        ("dispatch", OAK, "seed", "CA-QC", "US-VT", ["US-IMPORT-PLANTS"]),
        ("establish", "Juglans jamaicensis", "bareroot", "US-FL", "US-FL", []),
        ("hold", "Juglans jamaicensis", "", "US-FL", "US-FL", []),
        ("collect", "Juglans jamaicensis", "", "US-FL", "US-FL", ["US-PROTECTED-COLLECT"]),
        ("dispatch", "Juglans jamaicensis", "seed", "US-FL", "US-GA", ["US-PROTECTED-MOVE"]),
        ("dispatch", "Juglans jamaicensis", "seed", "US-FL", "MX", ["US-PROTECTED-EXPORT"]),
        ("dispatch", OAK, "seed", "GB-SCT", "GB-ENG", ["GB-FRM-SUPPLY"]),
        ("dispatch", OAK, "seed", "GB-SCT", "GB-NIR", ["GB-NIR-FRM-SUPPLY"]),
        ("collect", "Populus tremula", "", "GB-SCT", "GB-SCT", ["GB-FRM-COLLECT"]),
        ("dispatch", BUTTERNUT, "seed", "GB-SCT", "GB-ENG", []),
        ("dispatch", OAK, "seed", "DE-BY", "FR", ["EU-FRM-SUPPLY"]),
        ("pesticide", "", "", "", "US-VT", ["US-PESTICIDE-RECORD"]),
    ],
)
def test_starter_rules_that_apply(activity, taxon, form, origin, destination, codes):
    found = material_classes(CLASSES, {}, {}, {"L1": Lot(own=Own((taxon,) if taxon else ()))})[1]["L1"]
    line = Line("L1", taxa=(taxon,) if taxon else (), classes=found.certain, form=form, quantity=10, unit="seeds")
    question = Question(activity, date(2026, 4, 20), (line,) if taxon else (), Place(origin), Place(destination), receiver="H. C.")
    answer = decide(question, Facts(tuple(RULES)))
    rules = [one for one in answer.findings if one.kind == "requirement"]
    assert [one.code for one in sorted(rules, key=lambda one: one.code)] == codes
    assert all(one.unverified for one in rules)
    assert answer.verdict == ("stop" if any(one.severity == "blocking" for one in rules) else "check")


@pytest.mark.parametrize(
    ("activity", "classes", "codes"),
    [
        ("dispatch", ("engineered",), ["US-GE-MOVE"]),
        ("establish", ("engineered",), ["US-GE-RELEASE"]),
        ("inoculate", ("live_pathogen",), ["US-PATHOGEN"]),
        ("establish", ("donor_ancestry",), ["US-PUBLIC-LAND"]),
    ],
)
def test_starter_rules_that_apply_by_descent_or_nature(activity, classes, codes):
    line = Line("L1", (BUTTERNUT,), classes, form="seed", quantity=10, unit="seeds")
    question = Question(activity, date(2026, 4, 20), (line,), Place("US-VT"), Place("US-NY"), receiver="H. C.")
    assert [one.code for one in decide(question, Facts(tuple(RULES))).findings if one.kind == "requirement"] == codes


def test_the_rule_of_wisconsin_ends_with_its_quarantine():
    line = Line("L1", (BUTTERNUT,), form="bareroot", quantity=10, unit="plants")
    [rule] = [rule for rule in RULES if rule.code == "US-WI-CANKERS"]
    asked = [Question("dispatch", date(2023, *day), (line,), Place("US-TN"), Place("US-WI")) for day in ((6, 30), (7, 1))]
    # its end: Wisconsin DNR, forest health news of 9 June 2023 on CR 22-022
    assert [rule_applies(rule, question) is not None for question in asked] == [True, False]


def test_walnut_plants_are_asked_about_on_their_way():
    line = Line("L1", (BUTTERNUT,), form="bareroot", quantity=10, unit="plants")

    def codes(**places):
        question = Question("dispatch", date(2026, 4, 20), (line,), Place("US-CO"), receiver="H. C.", **places)
        return {one.code for one in decide(question, Facts(tuple(RULES))).findings if "CANKERS" in one.code}

    assert codes(destination=Place("US-IA"), transit=(Place("US-NE"),)) == {"US-NE-CANKERS-TRANSIT"}
    assert codes(destination=Place("US-MO"), transit=(Place("US-TN"),)) == {"US-MO-CANKERS", "US-MO-CANKERS-TRANSIT"}
    assert codes(destination=Place("US-IA")) == set()


def test_the_rule_of_ontario_begins_with_its_act():
    line = Line("L1", classes=("ca_protected_plants",))
    days = (date(2026, 3, 29), date(2026, 3, 30))
    asked = [Question("collect", day, (line,), destination=Place("CA-ON")) for day in days]
    [rule] = [rule for rule in RULES if rule.code == "CA-ON-PROTECTED"]
    assert [rule_applies(rule, question) is not None for question in asked] == [False, True]
