"""Decisions, one a line: the paper, and what the gate answers. Worked out by hand from the words of the rule; common practice, no source."""

from dataclasses import replace
from datetime import date

import pytest

from registry.compliance.gate.facts import Place, StateChange, Version
from tests.compliance.scene import PERMIT, TERMS, answer, asked, finding, line, paper, reasons, rule

D = date
MET, MISSING = ("covered", "met"), ("stop", "missing")
SUSPENDED = (StateChange(D(2026, 1, 1), "in_force"), StateChange(D(2026, 4, 20), "suspended"))
LIFTED = (*SUSPENDED, StateChange(D(2026, 5, 1), "in_force"))
AMENDED = replace(
    PERMIT, versions=(replace(TERMS, forms=("seed",)), replace(TERMS, number=1, from_on=D(2026, 4, 20), forms=("seed", "bareroot")))
)
CUT_DOWN = replace(PERMIT, versions=(replace(TERMS, number=1, from_on=D(2026, 4, 21), destinations=("US-MI",)), TERMS))
PROLONGED = replace(
    PERMIT, versions=(replace(TERMS, ends_on=D(2026, 3, 31)), replace(TERMS, number=1, from_on=D(2026, 3, 15), ends_on=D(2026, 9, 30)))
)
TWICE_A_DAY = replace(
    PERMIT,
    versions=(TERMS, replace(TERMS, number=2, from_on=D(2026, 4, 1)), replace(TERMS, number=1, from_on=D(2026, 4, 1), forms=("seed",))),
)
NONE = {"type": "none_needed", "destinations": ("US-WI",)}
REVIEW = D(2026, 10, 1)
LEFT = {"holder_left_on": D(2026, 4, 20)}
CAP = {"cap_quantity": 500, "cap_unit": "plants"}
TWO = (line(lot="A", quantity=200), line(lot="B", quantity=300))

CASES = [
    ("a permit that limits nothing and is in force covers", {}, [PERMIT], MET, ""),
    ("without any paper the shipment stops", {}, [], MISSING, ""),
    ("a certificate does not replace a permit, and does not come near", {}, [paper(type="certificate")], MISSING, ""),
    ("on the first day of the permit it covers", {"on": D(2026, 1, 1)}, [PERMIT], MET, ""),
    ("on the day before its first it does not", {"on": D(2025, 12, 31)}, [PERMIT], MISSING, "not_in_force: not in force on 31 Dec 2025"),
    ("on its last day it covers", {"on": D(2026, 12, 31)}, [PERMIT], MET, ""),
    ("on the day after its last it does not", {"on": D(2027, 1, 1)}, [PERMIT], MISSING, "ended on 31 Dec 2026"),
    ("a permit without dates is held to its state alone", {"on": D(2026, 9, 9)}, [paper(starts_on=None, ends_on=None)], MET, ""),
    ("a draft does not cover", {}, [paper(states=(StateChange(D(2026, 1, 1), "draft"),))], MISSING, "a draft"),
    ("an application does not cover", {}, [paper(states=(StateChange(D(2026, 1, 1), "applied"),))], MISSING, "applied for"),
    ("a closed permit does not cover", {}, [paper(states=(StateChange(D(2026, 4, 1), "closed"),))], MISSING, "closed"),
    ("an expired permit with duties running does not cover", {}, [paper(states=(StateChange(D(2026, 4, 1), "expired"),))], MISSING, "expired, duties running"),
    ("no state recorded by that day: it does not cover", {}, [paper(states=(StateChange(D(2026, 4, 21), "in_force"),))], MISSING, "no state is recorded"),
    ("on the day before the suspension it covers", {"on": D(2026, 4, 19)}, [paper(states=SUSPENDED)], MET, ""),
    ("from the day of the suspension it does not", {}, [paper(states=SUSPENDED)], MISSING, "not in force on 20 Apr 2026: suspended"),
    ("once the suspension is lifted it covers again", {"on": D(2026, 5, 1)}, [paper(states=LIFTED)], MET, ""),
    ("of two states entered for one day the later entry counts", {}, [paper(states=(StateChange(D(2026, 1, 1), "draft"), StateChange(D(2026, 1, 1), "in_force")))], MET, ""),
    ("an amendment that adds the form covers from its day", {}, [AMENDED], MET, ""),
    ("before the day of the amendment the original counts", {"on": D(2026, 4, 19)}, [AMENDED], MISSING, "wrong form: it covers seed, this is bareroot"),
    ("an amendment that takes the state away does not count before its day", {}, [CUT_DOWN], MET, ""),
    ("and counts from its day", {"on": D(2026, 4, 21)}, [CUT_DOWN], MISSING, "wrong destination: it covers US-MI, this is US-WI"),
    ("an amendment that prolongs the permit covers after the old end", {}, [PROLONGED], MET, ""),
    ("of two versions of one day the higher number counts", {}, [TWICE_A_DAY], MET, ""),
    ("a permit whose first version begins later says nothing yet", {}, [replace(PERMIT, versions=(replace(TERMS, from_on=D(2026, 5, 1)),))], MISSING, "no version on file for that day"),
    ("a permit without any version says nothing", {}, [replace(PERMIT, versions=())], MISSING, "no version on file for that day"),
    ("a permit for this origin covers", {}, [paper(origins=("US-VT",))], MET, ""),
    ("a permit for another origin does not", {}, [paper(origins=("US-NY",))], MISSING, "origin: wrong origin: it covers US-NY, this is US-VT"),
    ("a permit for an origin does not cover an origin that is not given", {"origin": Place()}, [paper(origins=("US-VT",))], MISSING, "origin not known well enough"),
    ("a permit for this county covers", {}, [paper(destinations=("US-WI/dane",))], MET, ""),
    ("a permit for another county does not", {}, [paper(destinations=("US-WI/Rock",))], MISSING, "wrong destination: it covers US-WI/Rock"),
    ("a permit for the whole country covers a state of it", {}, [paper(destinations=("US",))], MET, ""),
    ("a permit for one state does not cover a shipment known by country only", {"destination": Place("US")}, [paper(destinations=("US-WI",))], MISSING, "destination not known well enough"),
    ("a permit for everywhere outside a state does not cover that state", {}, [paper(destinations=("US", "outside US-WI"))], MISSING, "wrong destination"),
    ("a permit for this partner covers", {}, [paper(destinations=("partner:PT-05",))], MET, ""),
    ("a permit for named sites covers a named site", {}, [paper(sites=("ST-05", "ST-06"))], MET, ""),
    ("a permit for named sites does not cover another site", {}, [paper(sites=("ST-06",))], MISSING, "it covers site ST-06, this is site ST-05"),
    ("a permit for named sites does not cover a shipment without a site", {"destination": Place("US-WI")}, [paper(sites=("ST-05",))], MISSING, "the site is not given"),
    ("a permit for one way does not cover another", {"transit": (Place("US-NY"), Place("CA-ON"))}, [paper(transits=("US",))], MISSING, "transit: wrong transit: it covers US, this is CA-ON"),
    ("a permit limited to a way does not cover where none is given", {}, [paper(transits=("US",))], MISSING, "transit: transit not known: it covers US, and no place of transit is given"),
    ("up to edition 5 a permit limited to a way covered where none was given", {"edition": 5}, [paper(transits=("US",))], MET, ""),
    ("a permit for the way covers", {"transit": (Place("US-NY"),)}, [paper(transits=("US",))], MET, ""),
    ("a permit to plant does not cover dispatch", {}, [paper(activities=("establish",))], MISSING, "wrong activity: it covers establishing a planting"),
    ("a permit for seed does not cover bareroot plants", {}, [paper(forms=("seed",))], MISSING, "form: wrong form"),
    ("a permit for a form does not cover a line without a form", {"lines": (line(form=""),)}, [paper(forms=("bareroot",))], MISSING, "none is given"),
    ("a permit for the genus covers its hybrid", {}, [paper(taxa=("Juglans",))], MET, ""),
    ("a permit for the hybrid written with an x covers", {}, [paper(taxa=("Juglans x bixbyi",))], MET, ""),
    ("a permit for another species does not", {}, [paper(taxa=("Juglans nigra",))], MISSING, "taxon: wrong taxon: it covers Juglans nigra, this is Juglans ×bixbyi"),
    ("a permit for a genus does not cover a line without a taxon", {"lines": (line(taxa=()),)}, [paper(taxa=("Juglans",))], MISSING, "none is given"),
    ("every taxon in the line must be covered", {"lines": (line(taxa=("Juglans nigra", "Juglans cinerea")),)}, [paper(taxa=("Juglans nigra",))], MISSING, "this is Juglans cinerea"),
    ("a permit for the class of the rule covers", {}, [paper(classes=("host",))], MET, ""),
    ("a permit for another class of the material does not answer this rule", {}, [paper(classes=("donor",))], MISSING, "class: wrong material class: it covers donor, this is host"),
    ("a permit for this lot covers", {}, [paper(lots=("P25-01",))], MET, ""),
    ("a permit for other lots does not", {}, [paper(lots=("P24-01",))], MISSING, "lot: it names other lots"),
    ("a permit issued under this rule covers", {}, [paper(under=("R-WI",))], MET, ""),
    ("a permit issued under another rule does not", {}, [paper(under=("R-MI",))], MISSING, "under: it was issued under R-MI"),
    ("a permit that fails in four points did not come near", {}, [paper(forms=("seed",), lots=("X",), classes=("donor",), more={"documents_present": False})], MISSING, ""),
    ("a permit whose holder leaves tomorrow covers", {"on": D(2026, 4, 19)}, [paper(more=LEFT)], MET, ""),
    ("a permit whose holder has left does not cover from that day", {}, [paper(more=LEFT)], MISSING, "holder: its holder left on 20 Apr 2026 and it is not transferable"),
    ("a transferable permit with a second contact goes on", {}, [paper(more=LEFT | {"transferable": True, "second_contact": "W. Oakhollow"})], MET, ""),
    ("a transferable permit that nobody else holds does not", {}, [paper(more=LEFT | {"transferable": True})], MISSING, "no second contact is named"),
    ("a permit whose document is not on file does not cover", {}, [paper(more={"documents_present": False})], MISSING, "document: its document is not on file"),
    ("a permit with an overdue duty does not cover", {}, [paper(more={"duties_overdue": ("Yearly report, due 1 Mar 2026",)})], MISSING, "duty: due under it before then: Yearly report, due 1 Mar 2026"),
    ("a permit for named people covers them", {"people": ("J. Pennywhit",)}, [paper(people=("J. Pennywhit", "W. Oakhollow"))], MET, ""),
    ("it does not cover somebody else", {"people": ("D. Hobbinson",)}, [paper(people=("J. Pennywhit",))], MISSING, "person: it does not name D. Hobbinson"),
    ("two people may each have a permit of their own", {"people": ("J. Pennywhit", "W. Oakhollow")}, [paper(people=("J. Pennywhit",)), paper("P-2", people=("W. Oakhollow",))], MET, ""),
    ("a permit for named people does not cover when nobody is named", {}, [paper(people=("J. Pennywhit",))], MISSING, "who acts is not given"),
    ("a determination that none is needed covers its state before its review", {}, [paper(**NONE, more={"review_by": REVIEW})], MET, ""),
    ("on its review date it still covers", {"on": REVIEW}, [paper(**NONE, more={"review_by": REVIEW})], MET, ""),
    ("past its review date it does not", {"on": D(2026, 10, 2)}, [paper(**NONE, more={"review_by": REVIEW})], MISSING, "review: its review date of 1 Oct 2026 is past: ask again"),
    ("with an end instead of a review date it covers", {}, [paper(**NONE)], MET, ""),
    ("with neither it does not", {}, [paper(**NONE, ends_on=None)], MISSING, "neither a review date nor an end"),
    ("a determination about another state does not cover", {}, [paper(type="none_needed", destinations=("US-MI",))], MISSING, ""),
    ("a determination that names no rule and no place covers nothing", {}, [paper(type="none_needed")], MISSING, "scope: it names neither a rule nor a place"),
    ("a determination under this rule covers", {}, [paper(type="none_needed", under=("R-WI",))], MET, ""),
    ("a determination about seed does not cover bareroot plants", {}, [paper(**NONE, forms=("seed",))], MISSING, "wrong form"),
    ("exactly what is left of the cap covers", {}, [paper(**CAP, drawn=300)], MET, ""),
    ("one plant more than is left does not", {}, [paper(**CAP, drawn=301)], MISSING, "quantity: 199 plants are left of its cap, 200 are needed"),
    ("an overdrawn cap has nothing left", {}, [paper(**CAP, drawn=600)], MISSING, "0 plants are left of its cap, 200 are needed"),
    ("two lines that fill the cap exactly are covered", {"lines": TWO}, [paper(**CAP)], MET, ""),
    ("two lines that each fit but not both are not covered", {"lines": TWO}, [paper(**CAP, drawn=1)], MISSING, "499 plants are left of its cap, 500 are needed"),
    ("a cap in seeds does not cover plants", {}, [paper(cap_quantity=500, cap_unit="seeds")], MISSING, "unit: its cap is in seeds, the line is in plants"),
    ("a cap does not cover a line whose quantity is not given", {"lines": (line(quantity=None),)}, [paper(**CAP)], MISSING, "the quantity is not given and 500 plants are left"),
    ("a cap on planting is not looked at for dispatch", {}, [paper(**CAP, drawn=500, cap_activities=("establish",))], MET, ""),
    ("a line without a cap does not use up the cap", {"lines": TWO}, [paper(**CAP, drawn=200), paper("P-B", lots=("A",))], MET, ""),
    ("lines that are to draw on two caps are covered by both", {"lines": (line(lot="A", draw_on=("P-WI",)), line(lot="B", draw_on=("P-B",)))}, [paper(**CAP, drawn=300), paper("P-B", **CAP, drawn=300)], MET, ""),
    ("a line that is to draw on another paper is not covered by this one", {"lines": (line(draw_on=("P-B",)),)}, [paper(**CAP)], MISSING, "draw_on: the line is to draw on P-B"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "papers", "expected", "words"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_given_this_paper(changes, papers, expected, words):
    found = answer(asked(**changes), papers=papers)
    assert (found.verdict, finding(found).status) == expected
    told = reasons(found)
    assert any(words in one for one in told) if words else told == []


def test_the_sentences_are_all_different_and_many():
    assert len({case[0] for case in CASES}) == len(CASES) >= 70


def test_lines_covered_in_part_are_named_with_what_the_rest_lacks():
    found = finding(answer(asked(lines=(line(lot="A"), line(lot="B", form="scion"))), papers=[paper(forms=("bareroot",))]))
    assert (found.status, found.lots, found.met_by) == ("missing", ("A", "B"), ("P-WI",))
    assert [(near.paper, near.reasons[0].lots) for near in found.near] == [("P-WI", ("B",))]


def test_papers_that_came_nearest_come_first_and_the_rest_is_counted():
    papers = [paper(f"P-{n:02}", forms=("seed",), ends_on=date(2026, 4 + n % 2, 30)) for n in range(12)]
    found = finding(answer(papers=[*papers, paper("P-99", forms=("seed",), lots=("X",))]))
    assert [near.paper for near in found.near][:7] == ["P-01", "P-03", "P-05", "P-07", "P-09", "P-11", "P-00"]
    assert (len(found.near), found.near_left_off) == (10, 3)


def test_two_rules_draw_a_line_from_a_paper_once():
    found = answer(rules=[rule(), rule(code="R-2")], papers=[paper(cap_quantity=500, cap_unit="plants")])
    assert [(draw.paper, draw.lot, draw.quantity, draw.unit) for draw in found.draws] == [("P-WI", "P25-01", 200, "plants")]


def test_a_paper_without_a_cap_is_used_before_one_with_a_cap():
    found = answer(papers=[paper("P-A", cap_quantity=500, cap_unit="plants"), paper("P-B")])
    assert (finding(found).met_by, found.draws) == (("P-B",), ())


def test_a_later_version_is_found_in_any_order():
    versions = (Version(1, date(2026, 4, 1), forms=("seed",)), Version(0))
    assert answer(papers=[replace(PERMIT, versions=versions)]) == answer(papers=[replace(PERMIT, versions=versions[::-1])])


def test_draws_are_in_the_order_of_the_lots():
    papers = [paper(cap_quantity=500, cap_unit="plants")]
    found = [answer(asked(lines=lines), papers=papers) for lines in (TWO, TWO[::-1])]
    assert found[0] == found[1]
    assert [(draw.lot, draw.quantity) for draw in found[0].draws] == [("A", 200), ("B", 300)]


def test_the_first_place_of_transit_not_covered_is_named():
    ways = (Place("CA-QC"), Place("CA-ON"))
    told = [reasons(answer(asked(transit=transit), papers=[paper(transits=("US",))])) for transit in (ways, ways[::-1])]
    assert told[0] == told[1] == ["transit: wrong transit: it covers US, this is CA-ON"]
