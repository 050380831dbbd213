"""Decisions, one a line: the rule and the question, and whether the rule applies and what it says. By hand; common practice, no source."""

from dataclasses import replace
from datetime import date, datetime

import pytest

from registry.compliance.gate.facts import Place
from registry.compliance.gate.words import ALWAYS, NEVER_BLOCKED
from tests.compliance.scene import DAY, PERMIT, answer, asked, finding, line, paper, reasons, rule

D = date
MAY = line(classes=(), may_classes=("host",))
APPLIES, NOT = True, False
CASES = [
    ("a rule for this activity, class and state applies", {}, {}, APPLIES),
    ("a rule about planting says nothing of dispatch", {}, {"activities": ("establish",)}, NOT),
    ("a rule without activities is about all of them", {"activity": "hold"}, {"activities": ()}, APPLIES),
    ("a rule about another class does not apply", {}, {"classes": ("engineered",)}, NOT),
    ("a rule applies by a class the material may have", {"lines": (MAY,)}, {}, APPLIES),
    ("a rule about seed does not apply to bareroot plants", {}, {"forms": ("seed",)}, NOT),
    ("a rule about a form applies to a line whose form is not given", {"lines": (line(form=""),)}, {"forms": ("seed",)}, APPLIES),
    ("a rule about the genus applies to its hybrid", {}, {"taxa": ("Juglans",)}, APPLIES),
    ("a rule about another genus does not", {}, {"taxa": ("Quercus",)}, NOT),
    ("a rule about a taxon applies to a line without one", {"lines": (line(taxa=()),)}, {"taxa": ("Quercus",)}, APPLIES),
    ("a rule about another destination does not apply", {}, {"destinations": ("US-MI",)}, NOT),
    ("a rule about a state applies when only the country is known", {"destination": Place("US")}, {}, APPLIES),
    ("a rule about a state applies when no destination is given", {"destination": Place()}, {}, APPLIES),
    ("a rule about what comes from outside a state applies from elsewhere", {}, {"origins": ("outside US-WI",)}, APPLIES),
    ("and not from within", {"origin": Place("US-WI")}, {"origins": ("outside US-WI",)}, NOT),
    ("a rule about one site applies there", {}, {"destinations": ("site:ST-05",)}, APPLIES),
    ("a rule about one partner does not apply to another", {}, {"destinations": ("partner:PT-06",)}, NOT),
    ("a rule about a county does not apply to another county", {}, {"destinations": ("US-WI/Rock",)}, NOT),
    ("a rule about transit applies on that way", {"transit": (Place("US-NY"),)}, {"transits": ("US-NY",)}, APPLIES),
    ("a rule about transit does not apply when no way is given", {}, {"transits": ("US-NY",)}, NOT),
    ("a rule about transit does not apply on another way", {"transit": (Place("US-OH"),)}, {"transits": ("US-NY",)}, NOT),
    ("a rule about transit applies when the way is known by country only", {"transit": (Place("US"),)}, {"transits": ("US-NY",)}, APPLIES),
    ("a rule applies on its first day", {}, {"from_on": DAY}, APPLIES),
    ("a rule does not apply before its first day", {}, {"from_on": D(2026, 4, 21)}, NOT),
    ("a rule applies on its last day", {}, {"until_on": DAY}, APPLIES),
    ("a rule does not apply after its last day", {}, {"until_on": D(2026, 4, 19)}, NOT),
    ("a rule about a class does not apply without material", {"activity": "publish_location", "lines": ()}, {"activities": ()}, NOT),
    ("a rule about no material applies without material", {"activity": "publish_location", "lines": ()}, {"activities": (), "classes": ()}, APPLIES),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "words", "applies"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_given_this_rule(changes, words, applies):
    found = answer(asked(**changes), rules=[rule(**words)], papers=[])
    assert [one.code for one in found.findings if one.kind == "requirement"] == (["R-WI"] if applies else [])
    assert found.verdict == ("stop" if applies else "check")


UNVERIFIED = [
    ("a verified rule within its review date says nothing of it", {}, "", "covered"),
    ("a rule nobody verified is met and still needs asking", {"verified_on": None}, "not verified: ask the authority", "check"),
    ("a rule verified by nobody named counts as not verified", {"verified_by": ""}, "not verified: ask the authority", "check"),
    ("a rule verified with no authority named counts as not verified", {"verified_with": ""}, "not verified: ask the authority", "check"),
    ("on its review date a rule still counts as verified", {"review_by": DAY}, "", "covered"),
    ("a rule past its review date counts as not verified", {"review_by": D(2026, 4, 19)}, "since its review date of 19 Apr 2026: ask the authority", "check"),
    ("a verified rule without a review date counts as verified", {"review_by": None}, "", "covered"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "told", "verdict"), [case[1:] for case in UNVERIFIED], ids=[case[0] for case in UNVERIFIED])
def test_given_this_verification(words, told, verdict):
    found = answer(rules=[rule(**words)])
    assert finding(found).status == "met"
    assert found.verdict == verdict
    assert told in finding(found).unverified if told else finding(found).unverified == ""


def test_an_unverified_rule_stops_what_lacks_its_paper():
    found = answer(rules=[rule(verified_on=None)], papers=[])
    assert (found.verdict, finding(found).unverified) == ("stop", "not verified: ask the authority")


def test_a_rule_that_applies_only_by_what_the_lot_may_contain_says_so():
    found = finding(answer(asked(lines=(MAY,))))
    assert found.may_contain and found.status == "met"
    assert found.notes == ("Lot P25-01 may contain host: the rule applies for that reason alone.",)


def test_a_certain_class_is_not_called_perhaps_although_another_is():
    found = finding(answer(asked(lines=(line(may_classes=("host", "engineered")),)), rules=[rule(classes=("host", "engineered"))]))
    assert not found.may_contain


def test_a_paper_must_cover_each_class_the_rule_goes_by():
    both = rule(classes=("host", "donor"))
    assert answer(rules=[both], papers=[paper(classes=("host",))]).verdict == "stop"
    assert answer(rules=[both], papers=[paper(classes=("host", "donor"))]).verdict == "covered"


def test_under_a_rule_without_classes_a_paper_covers_one_class():
    every = rule(classes=())
    assert answer(rules=[every], papers=[paper(classes=("donor",))]).verdict == "covered"
    assert answer(rules=[every], papers=[paper(classes=("engineered",))]).verdict == "stop"
    assert "this is in no class" in reasons(answer(asked(lines=(line(classes=()),)), rules=[every], papers=[paper(classes=("donor",))]))[0]


def test_any_of_the_types_of_a_set_is_enough_and_every_set_is_needed():
    needs = rule(any_of=(("permit", "licence"), ("certificate",)))
    licence, certificate = paper("P-L", "licence"), paper("P-C", "certificate")
    assert answer(rules=[needs], papers=[licence]).verdict == "stop"
    assert finding(answer(rules=[needs], papers=[licence])).next_step.startswith("Get a paper that covers this (certificate)")
    assert finding(answer(rules=[needs], papers=[licence, certificate])).met_by == ("P-C", "P-L")


def test_an_advisory_rule_that_is_not_met_does_not_stop():
    found = answer(rules=[rule(blocking=False)], papers=[])
    assert (found.verdict, finding(found).status, finding(found).severity) == ("check", "missing", "advisory")


def test_a_rule_without_paper_types_blocks_or_gives_notice():
    assert answer(rules=[rule(any_of=())]).verdict == "stop"
    assert finding(answer(rules=[rule(any_of=())])).next_step.startswith("No paper answers this rule. Ask the authority.")
    advice = answer(rules=[rule(any_of=(), blocking=False)])
    assert (advice.verdict, finding(advice).status) == ("check", "notice")


def test_a_rule_no_paper_answers_is_met_by_a_determination_under_it():
    assert answer(rules=[rule(any_of=())], papers=[paper(type="none_needed", under=("R-WI",))]).verdict == "covered"


def test_two_editions_of_a_rule_can_both_apply():
    found = answer(rules=[rule(), rule(edition="2025")])
    assert [(one.code, one.edition) for one in found.findings] == [("R-WI", "2025"), ("R-WI", "2026")]


def test_an_example_rule_is_marked_as_one():
    assert finding(answer(rules=[rule(is_example=True)])).is_example


def test_no_rule_at_all_is_not_a_permission():
    found = answer(rules=[])
    assert (found.verdict, finding(found, "no_rule").title) == ("check", "No rule on file applies: that is not a permission")
    assert found.always == ALWAYS and "Check with the local authority" in ALWAYS


def test_lines_without_a_rule_are_named_beside_lines_with_one():
    found = answer(asked(lines=(line(lot="A"), line(lot="B", classes=()))))
    assert (found.verdict, finding(found).lots, finding(found, "no_rule").lots) == ("check", ("A",), ("B",))


@pytest.mark.parametrize("activity", sorted(NEVER_BLOCKED))
def test_expiry_ends_permission_but_never_blocks_recording(activity):
    doubted = line(in_question="mother doubted", use_by=D(2026, 1, 1))
    question = asked(activity=activity, lines=(doubted,), receiver="", landowner_agreement_wanted=True)
    found = answer(question, rules=[rule(activities=())], papers=[paper(ends_on=D(2026, 3, 31))])
    assert found.verdict == "recorded"
    assert {one.severity for one in found.findings} == {"advisory"}
    assert any(one.status == "missing" for one in found.findings)


def test_the_same_expired_paper_stops_dispatch():
    assert answer(rules=[rule(activities=())], papers=[paper(ends_on=D(2026, 3, 31))]).verdict == "stop"


def test_the_worst_comes_first():
    rules = [rule(code="R-A", any_of=(("permit",),)), rule(code="R-B", any_of=(("licence",),)), rule(code="R-C", any_of=(), blocking=False)]
    found = answer(asked(receiver=""), rules=rules)
    assert [one.code for one in found.findings] == ["receiver", "R-B", "R-C", "R-A"]


def test_a_moment_is_refused_in_place_of_a_day():
    with pytest.raises(ValueError, match="is a moment"):
        answer(asked(on=datetime(2026, 4, 20, 12, 0)))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ({"question": asked(activity="smuggle")}, "Activity “smuggle” is not known"),
        ({"question": asked(lines=(line(quantity=-1),))}, "Lot P25-01: the quantity -1 is below 0"),
        ({"papers": [PERMIT, PERMIT]}, "Two papers have the code P-WI"),
        ({"papers": [replace(PERMIT, versions=PERMIT.versions * 2)]}, "Two versions of paper P-WI have one number"),
        ({"rules": [rule(), rule()]}, "Requirement R-WI, edition 2026, is given twice"),
        ({"rules": [rule(code="landowner")]}, "which the gate uses itself"),
        ({"rules": [rule(destinations=("Vermont",))]}, "“Vermont” is not a place pattern"),
    ],
)
def test_bad_input_is_named(words, told):
    with pytest.raises(ValueError, match=told):
        answer(**words)
