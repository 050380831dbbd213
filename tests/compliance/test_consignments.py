"""A paper for one consignment, a shipment that arrives late, a quantity of 0, determinations about other places. Invented cases."""

from datetime import date

import pytest

from registry.compliance.gate.answers import MISSING, NOTICE
from tests.compliance.scene import PERMIT, answer, asked, finding, line, paper, reasons, rule

USED = {"used_for": "SH-1"}


def test_a_paper_for_one_consignment_is_used_up_by_its_shipment():
    found = answer(papers=[paper(more=USED)])
    assert reasons(found) == ["used: it held for one consignment, and shipment SH-1 has used it"]
    assert "ask the authority for one for this consignment" in finding(found).next_step


def test_what_arrived_under_it_is_planted_under_it():
    assert finding(answer(asked(activity="establish"), papers=[paper(more=USED)])).status == "met"


def test_an_arrival_after_the_last_day_of_a_paper_is_said():
    ends = paper(ends_on=date(2026, 4, 22))
    found = answer(asked(arrives_on=date(2026, 4, 23)), papers=[ends])
    late = finding(found, "arrival")
    assert (late.status, late.notes) == (NOTICE, ("P-WI ends on 22 Apr 2026, and it arrives on 23 Apr 2026",))
    assert found.verdict == "check"
    for day in (date(2026, 4, 22), None):
        assert "arrival" not in {one.code for one in answer(asked(arrives_on=day), papers=[ends]).findings}


@pytest.mark.parametrize("papers", [[PERMIT], [paper(cap_quantity=500, cap_unit="plants")], []])
def test_a_quantity_of_0_is_not_covered(papers):
    found = answer(asked(lines=(line(quantity=0),)), papers=papers)
    assert found.verdict == "stop" and found.draws == ()
    assert finding(found, "no_lines").title == "The quantity is 0"
    assert not papers or "quantity: the quantity is 0" in reasons(found)


def test_a_quantity_of_0_was_covered_up_to_edition_3():
    assert answer(asked(lines=(line(quantity=0),), edition=3)).verdict == "covered"


def test_a_determination_about_another_place_is_not_named():
    elsewhere = paper("N-MI", "none_needed", destinations=("US-MI",), more={"review_by": date(2027, 1, 1)})
    here = paper("N-WI", "none_needed", destinations=("US-WI",), more={"review_by": date(2026, 1, 1)})
    found = finding(answer(papers=[elsewhere, here]))
    assert [near.paper for near in found.near] == ["N-WI"] and found.near_left_off == 0
    assert {near.paper for near in finding(answer(asked(edition=3), papers=[elsewhere, here])).near} == {"N-MI", "N-WI"}


def test_two_lots_go_under_two_permits_of_which_neither_holds_both():
    lines = (line(lot="A", quantity=400, draw_on=("P-A",)), line(lot="B", quantity=300, draw_on=("P-B",)))
    permits = [paper(code, cap_quantity=500, cap_unit="plants") for code in ("P-A", "P-B")]
    split = answer(asked(lines=lines), papers=permits)
    assert finding(split).status == "met"
    assert [(draw.paper, draw.lot, draw.quantity) for draw in split.draws] == [("P-A", "A", 400), ("P-B", "B", 300)]
    unsplit = tuple(line(lot=one.lot, quantity=one.quantity) for one in lines)
    stopped = finding(answer(asked(lines=unsplit), [rule()], permits))
    assert stopped.status == MISSING
