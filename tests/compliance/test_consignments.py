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


def test_a_paper_not_in_order_yet_says_that_it_ends_on_the_way():
    """Whoever enters the report that is due should not be told only then that the permit ends too soon."""
    due = paper(ends_on=date(2026, 4, 22), more={"duties_overdue": ("Yearly report, due 1 Mar 2026",)})
    late = finding(answer(asked(arrives_on=date(2026, 4, 23)), papers=[due]), "arrival")
    assert (late.status, late.notes) == (NOTICE, ("P-WI ends on 22 Apr 2026, and it arrives on 23 Apr 2026",))
    over = paper(ends_on=date(2026, 4, 19))
    elsewhere = paper("P-MI", destinations=("US-MI",), ends_on=date(2026, 4, 22))
    for question in ({"papers": [over, elsewhere]}, {"papers": [due], "edition": 8}):
        papers = question.pop("papers")
        assert "arrival" not in {one.code for one in answer(asked(arrives_on=date(2026, 4, 23), **question), papers=papers).findings}


@pytest.mark.parametrize(
    ("use_by", "title"),
    [
        (date(2026, 4, 19), "The use-by date has passed"),
        (date(2026, 4, 20), "The use-by date passes before it arrives"),
        (date(2026, 4, 22), "The use-by date passes before it arrives"),
        (date(2026, 4, 23), ""),
    ],
)
def test_seed_that_arrives_after_its_use_by_date_is_named(use_by, title):
    found = answer(asked(lines=(line(lot="A", use_by=use_by), line(lot="B")), arrives_on=date(2026, 4, 23)))
    assert [one.title for one in found.findings if one.kind == "use_by"] == ([title] if title else [])
    assert all(one.lots == ("A",) for one in found.findings if one.kind == "use_by")
    before = answer(asked(lines=(line(lot="A", use_by=use_by),), arrives_on=date(2026, 4, 23), edition=8))
    assert [one.title for one in before.findings if one.kind == "use_by"] == ([title] if "passed" in title else [])


DUE = {"duties_overdue": ("Yearly report, due 1 Mar 2026",)}
DUE_WORDS = "duty: due under it before then: Yearly report, due 1 Mar 2026"


def test_a_cap_that_is_too_small_is_named_beside_what_else_fails():
    capped = paper(cap_quantity=500, cap_unit="plants", drawn=301, more=DUE)
    assert reasons(answer(papers=[capped])) == [DUE_WORDS, "quantity: 199 plants are left of its cap, 200 are needed"]
    assert reasons(answer(asked(edition=8), papers=[capped])) == [DUE_WORDS]
    enough = paper(cap_quantity=500, cap_unit="plants", drawn=300, more=DUE)
    assert reasons(answer(papers=[enough])) == [DUE_WORDS]


def test_only_lines_a_cap_is_for_are_counted_beside_what_else_fails():
    lines = (line(lot="A", quantity=300), line(lot="B", quantity=300), line(lot="C", form="seed", quantity=300, unit="seeds"))
    capped = paper(cap_quantity=500, cap_unit="plants", forms=("bareroot",), more=DUE)
    (near,) = finding(answer(asked(lines=lines), papers=[capped])).near
    about = {reason.code: (reason.lots, reason.words) for reason in near.reasons}
    assert about["quantity"] == (("A", "B"), "500 plants are left of its cap, 600 are needed")
    assert about["form"][0] == ("C",)
    one = answer(asked(lines=lines), papers=[capped, paper("P-B", lots=("B",))])  # B goes under another, and leaves room for A
    assert "quantity" not in {reason.code for near in finding(one).near for reason in near.reasons if near.paper == "P-WI"}


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
