"""What the gate says to do next, one reason a line. Which step answers which reason: common practice, no source."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings

from registry.compliance.gate.answers import MISSING, REQUIREMENT
from registry.compliance.gate.decide import decide
from registry.compliance.gate.explain import explain
from registry.compliance.gate.facts import Place, StateChange
from registry.compliance.gate.steps import REASONS
from tests.compliance.scene import PERMIT, answer, asked, finding, line, paper, rule
from tests.compliance.test_decide_properties import facts, questions

D = date
CHECK = " Then check with the local authority."
AMEND = "P-WI: ask the authority for an amendment ({}) or for another paper."
SINCE = {"holder_left_on": D(2026, 4, 1)}
CAP = {"cap_quantity": 500, "cap_unit": "plants"}


def in_state(state):
    return paper(states=(StateChange(D(2026, 1, 1), state),))


STEPS = [
    ("ended", {}, paper(ends_on=D(2026, 4, 19)), "P-WI: ask the authority to renew it, or for a new one."),
    ("closed", {}, in_state("closed"), "P-WI: ask the authority to renew it, or for a new one."),
    ("suspended", {}, in_state("suspended"), "P-WI: ask the authority what ends the suspension, and wait until it is in force again."),
    ("applied for", {}, in_state("applied"), "P-WI: wait until it is given, then enter that it is in force."),
    ("a draft", {}, in_state("draft"), "P-WI: ask the authority for it and wait until it is given, then enter that it is in force."),
    ("starts later", {}, paper(starts_on=D(2026, 5, 1)), "P-WI: wait until it starts on 1 May 2026, or ask the authority for another paper."),
    ("without a state", {}, paper(states=()), "P-WI: enter its state on 20 Apr 2026."),
    ("without a version", {}, replace(PERMIT, versions=()), "P-WI: enter what it says on 20 Apr 2026, or ask the authority for another paper."),
    ("wrong activity", {}, paper(activities=("hold",)), AMEND.format("activity")),
    ("wrong origin", {}, paper(origins=("US-NY",)), AMEND.format("origin")),
    ("origin not given", {"origin": Place()}, paper(origins=("US-VT",)), "P-WI: enter more exactly where it comes from (state or county)."),
    ("wrong way", {"transit": (Place("CA-ON"),)}, paper(transits=("US",)), AMEND.format("route")),
    ("no way given", {}, paper(transits=("US",)), "P-WI: enter the route more exactly."),
    ("way not given", {"transit": (Place(),)}, paper(transits=("US",)), "P-WI: enter the route more exactly."),
    ("wrong destination", {}, paper(destinations=("US-MI",)), AMEND.format("destination")),
    ("wrong site", {}, paper(sites=("ST-06",)), AMEND.format("destination")),
    ("site not given", {"destination": Place("US-WI")}, paper(sites=("ST-06",)), "P-WI: enter more exactly where it goes (state, county or site)."),
    ("wrong class", {}, paper(classes=("donor",)), AMEND.format("material class")),
    ("wrong taxon", {}, paper(taxa=("Juglans nigra",)), AMEND.format("taxon")),
    ("no taxon", {"lines": (line(taxa=()),)}, paper(taxa=("Juglans nigra",)), "P-WI: enter the taxon."),
    ("wrong form", {}, paper(forms=("seed",)), AMEND.format("form")),
    ("no form", {"lines": (line(form=""),)}, paper(forms=("seed",)), "P-WI: enter the form."),
    ("other lots", {}, paper(lots=("P24-01",)), AMEND.format("lots")),
    ("other people", {"people": ("J. Pennywhit",)}, paper(people=("W. Oakhollow",)), AMEND.format("people")),
    ("held by another", {"acting_for": "Ours"}, paper(more={"holder_body": "Theirs"}), "P-WI: ask the authority to name Ours in it, or for a paper of its own."),
    ("used up", {}, paper(more={"used_for": "SH-1"}), "P-WI: ask the authority for one for this consignment."),
    ("nobody named", {}, paper(people=("W. Oakhollow",)), "P-WI: say who does it."),
    ("another rule", {}, paper(under=("R-MI",)), "P-WI: ask the authority whether it meets this rule too, and enter the answer as an amendment."),
    ("holder left", {}, paper(more=SINCE), "P-WI: ask the authority for a new one in the name of whoever is responsible now."),
    ("holder left, second contact known", {}, paper(more=SINCE | {"second_contact": "W. Oakhollow"}), "P-WI: ask the authority for a new one in the name of W. Oakhollow."),
    ("holder left, transferable", {}, paper(more=SINCE | {"transferable": True}), "P-WI: name a second contact, who takes it over, and tell the authority."),
    ("too little left", {"lines": (line(quantity=500),)}, paper(**CAP, drawn=380), "P-WI: reduce the quantity to the 120 plants left, or ask the authority for an amendment of its cap."),
    ("nothing left", {}, paper(**CAP, drawn=500), "P-WI: nothing is left of its cap: ask the authority for an amendment or for another paper."),
    ("no quantity", {"lines": (line(quantity=None),)}, paper(**CAP), "P-WI: enter the quantity."),
    ("another unit", {"lines": (line(unit="seeds"),)}, paper(**CAP), "P-WI: ask the authority how this counts against its cap in plants."),
    ("another paper to draw on", {"lines": (line(draw_on=("P-B",)),)}, paper(**CAP), "P-WI: choose another paper to draw on, or have the chosen one amended."),
    ("a late duty", {}, paper(more={"duties_overdue": ("report",)}), "P-WI: do what is due under it before then and enter the evidence."),
    ("no document", {}, paper(more={"documents_present": False}), "P-WI: attach its document."),
    ("determination ended", {}, paper("N", "none_needed", under=("R-WI",), ends_on=D(2026, 4, 1)), "N: ask the authority again, and enter the answer with its last day."),
    ("determination past its review", {}, paper("N", "none_needed", under=("R-WI",), more={"review_by": D(2026, 4, 1)}), "N: ask the authority again, and enter the answer with its last day."),
    ("determination about nothing", {}, paper("N", "none_needed"), "Get a paper that covers this (permit), or the authority's written statement that none is needed."),
    ("determination for another place", {}, paper("N", "none_needed", destinations=("US-MI",)), "Get a paper that covers this (permit), or the authority's written statement that none is needed."),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "kept", "step"), [case[1:] for case in STEPS], ids=[case[0] for case in STEPS])
def test_the_step_that_answers_the_reason(changes, kept, step):
    assert finding(answer(asked(**changes), papers=[kept])).next_step == step + CHECK


def test_steps_that_others_must_do_come_first():
    kept = paper(forms=("seed",), destinations=("US-MI",), more={"documents_present": False})
    assert finding(answer(papers=[kept])).next_step == (
        "P-WI: ask the authority for an amendment (destination, form) or for another paper; attach its document." + CHECK
    )
    late = paper(more={"documents_present": False, "duties_overdue": ("report",)})
    assert finding(answer(papers=[late])).next_step == (
        "P-WI: do what is due under it before then and enter the evidence; attach its document." + CHECK
    )


def test_an_unverified_rule_is_checked_with_the_authority_first():
    found = finding(answer(rules=[rule(verified_on=None)], papers=[paper(more={"documents_present": False})]))
    assert found.next_step == (
        "Ask the authority whether this rule holds, and record who said so and when. P-WI: attach its document." + CHECK
    )


def test_papers_of_the_type_come_before_determinations():
    """The permit lacks its document and has a late duty; each of the determinations is past its review."""
    permit = paper("P-MI", more={"documents_present": False, "duties_overdue": ("report",)})
    past = {"more": {"review_by": D(2026, 4, 1)}, "under": ("R-WI",)}
    others = [paper(f"N-{n:02}", "none_needed", **past) for n in range(12)]
    found = finding(answer(papers=[*others, permit]))
    assert (found.near[0].paper, len(found.near), found.near_left_off) == ("P-MI", 10, 3)
    assert found.next_step.startswith("P-MI: do what is due under it before then")


def test_a_permit_comes_before_an_equal_determination():
    late = {"documents_present": False}
    none = paper("A-NONE", "none_needed", under=("R-WI",), more=late)
    permit = replace(none, code="P-WI", type="permit")  # both hold one and the same version
    assert [near.paper for near in finding(answer(papers=[none, permit])).near] == ["P-WI", "A-NONE"]


def test_a_paper_out_of_order_comes_before_one_for_elsewhere():
    permit = paper("P-WI", more={"documents_present": False, "duties_overdue": ("report",)})
    found = finding(answer(papers=[paper("P-MI", destinations=("US-MI",)), permit]))
    assert [near.paper for near in found.near] == ["P-WI", "P-MI"]
    assert found.next_step == "P-WI: do what is due under it before then and enter the evidence; attach its document." + CHECK


def test_a_rule_only_a_determination_can_meet_asks_for_one():
    late = paper("N", "none_needed", under=("R-WI",), more={"review_by": D(2026, 4, 1)})
    found = finding(answer(rules=[rule(any_of=())], papers=[late]))
    assert found.next_step == "N: ask the authority again, and enter the answer with its last day." + CHECK


def test_steps_name_their_lots_and_papers_the_lots_they_cover():
    lots = (line(lot="S21", form="seed", unit="seeds"), line(lot="P21"), line(lot="G21", form="scion"))
    found = finding(answer(asked(lines=lots), papers=[paper("P-SEED", forms=("seed",))]))
    assert [(one.paper, one.lots) for one in found.covered] == [("P-SEED", ("S21",))]
    assert found.next_step == ("P-SEED, lots G21 and P21: ask the authority for an amendment (form) or for another paper." + CHECK)


def test_lots_to_which_no_paper_came_near_need_one_of_their_own():
    far = line(lot="X", taxa=("Quercus rubra",), classes=("donor", "host"), form="pollen", unit="")
    near = line(lot="A", quantity=600)
    kept = paper(**CAP, taxa=("Juglans",), forms=("bareroot",), lots=("A",), classes=("host",))
    found = finding(answer(asked(lines=(near, far)), papers=[kept]))
    assert found.next_step == (
        "P-WI, lot A: reduce the quantity to the 500 plants left, or ask the authority for an amendment of its cap. "
        "Get a paper that covers this for lot X (permit), or the authority's written statement that none is needed." + CHECK
    )


def test_every_set_of_types_that_is_missing_has_its_step_said_once():
    needs = rule(any_of=(("permit",), ("licence",), ("certificate",)))
    papers = [paper(ends_on=D(2026, 4, 1)), paper("L", "licence", more={"documents_present": False})]
    assert finding(answer(rules=[needs], papers=papers)).next_step == (
        "Get a paper that covers this (certificate), or the authority's written statement that none is needed. "
        "L: attach its document. P-WI: ask the authority to renew it, or for a new one." + CHECK
    )


@settings(max_examples=100, deadline=None)
@given(questions, facts)
def test_every_missing_paper_has_a_step_and_none_says_allowed(question, kept):
    found = decide(question, kept)
    for one in found.findings:
        if one.kind == REQUIREMENT and one.status == MISSING:
            assert one.next_step.endswith(CHECK) and len(one.next_step) > len(CHECK)
    told = "\n".join(explain(found)).lower().replace(",", " ").replace(".", " ").split()
    assert not {"allowed", "permitted", "legal", "approved"} & set(told)


@settings(max_examples=75, deadline=None)
@given(questions, facts)
def test_a_met_finding_has_every_lot_under_a_paper(question, kept):
    for one in decide(question, kept).findings:
        assert [cover.paper for cover in one.covered] == list(one.met_by)
        under = {lot for cover in one.covered for lot in cover.lots}
        assert under <= set(one.lots)
        assert one.status != "met" or under == set(one.lots)


def test_every_reason_the_gate_knows_has_its_step_here():
    shown = set()
    for _name, changes, kept, _step in STEPS:
        shown.update(reason.code for near in finding(answer(asked(**changes), papers=[kept])).near for reason in near.reasons)
    agreements = [paper(f"A{one}", "landowner", sites=("ST-05",), more={"partner": one}) for one in ("PT-01", "")]
    land = finding(answer(asked(landowner_agreement_wanted=True), [], agreements), "landowner")
    shown.update(reason.code for near in land.near for reason in near.reasons)
    spraying = asked(activity="pesticide", landowner_agreement_wanted=True)
    land = finding(answer(spraying, [], [paper("A", "landowner", sites=("ST-05",), more={"partner": "PT-05"})]), "landowner")
    shown.update(reason.code for near in land.near for reason in near.reasons)
    assert shown == {*REASONS, "scope"}  # a determination that names no scope cannot start
