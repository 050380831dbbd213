"""Orchards on screen: the list, the plan, and what the page of a tree takes from them."""

import datetime
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from registry.models import IdentityQuestion, PedigreeTree
from registry.selectors.orchard.orchard import rogued_undecided
from registry.services.orchard.shares import share_enter
from registry.services.orchard.tree_status import tree_status_set
from registry.views.orchard.shares import measured_shares_section
from registry.views.orchard.tree_sections import ORCHARD_SECTIONS
from registry.views.pedigree.trees import PedigreeTreeDetailView
from tests import factories
from tests.pages import drawn_sections, record_page

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    person = factories.person("manager")
    client.force_login(person)
    return person


def tree(code, row=None, position=None, **fields):
    fields = {"orchard": "Mill Brook", "block": "A", "backcrosses": 3, "intercrosses": 1} | fields
    return factories.pedigree_tree(code=code, row=row, position=position, **fields)


def rogue(tree, on, **fields):
    return tree_status_set(actor=factories.person(), tree=tree, status="rogued", on=on, reason="rated 4.5", **fields)


def plan(client, **query):
    return client.get(reverse("orchard_plan"), {"orchard": "Mill Brook", "block": "A"} | query)


def cells(page):
    """{(row, position): [(code, mark, what is shown, flags)]} of the first grid."""
    grid = page.context["grids"][0]
    return {
        (row, position): [(shown.code, shown.mark, shown.shown, [mark for mark, _word in shown.flags]) for shown in trees]
        for row, line in grid.rows
        for position, trees in zip(grid.positions, line, strict=True)
    }


def test_orchards_are_listed_by_block_with_what_is_decided(client, manager):
    first, second, third = tree("KW-1"), tree("KW-2"), tree("KW-3", orchard="mill brook", block="B")
    factories.decision(first, "rogued")
    rogue(second, datetime.date(2020, 3, 1))
    question = IdentityQuestion.objects.create(tree=third, raised_on=factories.day(2019), reason="odd", entered_at=timezone.now())
    question.trees.add(third)
    rows = [[cell[0] for cell in row.cells] for row in client.get(reverse("orchard_list")).context["parts"][0]["rows"]]
    assert [row[1:] for row in rows] == [["A", 1, 1, 1, 1, 0, 0], ["B", 1, 0, 0, 0, 0, 1]]


def test_a_plan_marks_apart_what_waits_for_the_second_person(client, manager):
    factories.decision(tree("KW-1", 1, 1), "rogued", on=datetime.date(2020, 1, 1), needs_second=True)
    factories.decision(tree("KW-2", 1, 2), "rogued", on=datetime.date(2020, 1, 1))
    page = plan(client)
    assert [found[0][3] for _place, found in sorted(cells(page).items()) if found] == [["▽"], ["▼"]]
    assert "KW-1: standing, to be rogued once a second person confirms it" in page.content.decode()


def test_a_plan_shows_each_tree_at_its_position_with_its_marks(client, manager):
    first, second = tree("KW-1", 1, 1, recurrent_line="L1"), tree("KW-2", 2, 3, recurrent_line="L2")
    loose = tree("KW-9")
    factories.decision(first, "rogued", on=datetime.date(2020, 1, 1))
    rogue(second, datetime.date(2020, 3, 1))
    page = plan(client, show="line")
    found = cells(page)
    assert found[1, 1] == [("KW-1", "●", "L1", ["▼"])]
    assert found[2, 3] == [("KW-2", "✕", "L2", [])]
    assert found[1, 2] == []
    assert page.context["without"] == [("KW-9", reverse("pedigreetree_detail", args=[loose.pk]))]
    text = page.content.decode()
    assert "KW-1: standing, to be rogued, B3F2, line L1" in text and "KW-2: rogued, B3F2, line L2" in text
    assert [row.cells[0][0] for row in page.context["parts"][0]["rows"]] == ["KW-1", "KW-2", "KW-9"]


def test_a_plan_is_drawn_as_of_a_day(client, manager):
    first = tree("KW-1", 1, 1, planted_year=2009)
    tree("KW-2", 1, 1, planted_year=2021)
    rogue(first, datetime.date(2020, 3, 1))
    assert cells(plan(client, on="2020-02-29"))[1, 1] == [("KW-1", "●", "standing", [])]
    assert cells(plan(client, on="2020-03-01"))[1, 1] == [("KW-1", "✕", "rogued", [])]
    # the living tree comes first where another was there before it
    assert [shown[0] for shown in cells(plan(client))[1, 1]] == ["KW-2", "KW-1"]


def test_an_earlier_plan_shows_no_later_questions_or_decisions(client, manager):
    one = tree("KW-1", 1, 1)
    factories.decision(one, "rogued", on=datetime.date(2021, 1, 1))
    question = IdentityQuestion.objects.create(tree=one, raised_on=datetime.date(2021, 1, 1), reason="odd", entered_at=timezone.now())
    question.trees.add(one)
    assert cells(plan(client, on="2020-12-31"))[1, 1][0][3] == []
    assert cells(plan(client, on="2021-01-01"))[1, 1][0][3] == ["▼", "?"]


def test_ratings_are_shown_one_scale_at_a_time(client, manager):
    one, canker, rot = tree("KW-1", 1, 1), factories.rating_scale(), factories.rating_scale(name="Root rot", disease="root rot")
    factories.rating(one, canker, "3.5")
    factories.rating(one, rot, 2)
    assert cells(plan(client, show=f"rating-{canker.pk}"))[1, 1][0][2] == "3.5, 2019"
    assert cells(plan(client, show=f"rating-{rot.pk}"))[1, 1][0][2] == "2, 2019"
    assert cells(plan(client))[1, 1][0][2] == "standing"


def test_a_slip_of_the_pen_draws_no_thousand_empty_positions(client, manager):
    tree("KW-1", 1, 1)
    tree("KW-2", 1, 5000)
    assert plan(client).context["grids"][0].positions == [1, 5000]


def test_an_orchard_has_a_grid_for_each_block_and_one_download(client, manager):
    tree("KW-1", 1, 1)
    tree("KW-2", 1, 1, block="B")
    page = plan(client, block="")
    assert [grid.block for grid in page.context["grids"]] == ["A", "B"]
    download = plan(client, block="", download="csv").content.decode()
    assert '"block B, row 1, position 1"' in download and "KW-2" in download
    assert plan(client, download="exe").status_code == 404


def test_an_unknown_orchard_is_a_404_and_a_future_day_an_error(client, manager):
    tree("KW-1", 1, 1)
    assert plan(client, orchard="Nowhere").status_code == 404
    assert client.get(reverse("orchard_plan")).url == reverse("orchard_list")
    assert "has not come yet" in plan(client, on="2999-01-01").content.decode()


def test_a_plan_costs_a_fixed_number_of_queries(client, manager):
    scale = factories.rating_scale()

    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert plan(client).status_code == 200
        return len(captured)

    def one_more(number):
        one = tree(f"KW-{number}", 1, number)
        factories.rating(one, scale, 3)
        factories.decision(one, "kept")

    one_more(1)
    few = queries()
    for number in range(2, 9):
        one_more(number)
    assert queries() == few == 6  # session, person, blocks, trees, what their parents give, ratings


def test_the_plan_shows_lines_and_sources_known_from_the_parents(client, manager):
    mother = factories.pedigree_tree(code="N", recurrent_line="Winooski", generation_other="native")
    father = factories.pedigree_tree(code="F", recurrent_line="Winooski", source_of_resistance="Heron", backcrosses=2, intercrosses=0)
    tree("KW-1", 1, 1, mother=mother, father=father)
    tree("KW-2", 1, 2, recurrent_line="Lamoille")
    page = plan(client, show="line")
    assert [shown for [(_code, _mark, shown, _flags)] in cells(page).values()] == ["Winooski, by its parents", "Lamoille"]
    text = page.content.decode()
    assert "line Winooski, by its parents, source Heron, by its parents" in text
    assert "Winooski, by its parents" in plan(client, download="csv").content.decode()


# -- on the page of a tree ---------------------------------------------------------------------


SECTIONS = (*ORCHARD_SECTIONS, measured_shares_section("pedigreetree_share"))


def tree_page(person, tree):
    return record_page(PedigreeTreeDetailView, person, tree)


def due_of(page):
    return [*page.orchard_due(), *page.shares_due()]


def rows_of(page, title):
    return drawn_sections(page, SECTIONS)[0][title]


@pytest.mark.parametrize(
    ("treated", "words"),
    [(None, "may not have been treated: it is not recorded"), (False, "Its stump was not treated."), (True, "")],
)
def test_a_rogued_stump_that_was_not_treated_is_pointed_out(treated, words):
    one = tree("KW-1")
    factories.decision(one, "rogued")
    rogue(one, datetime.date(2020, 3, 1), stump_treated=treated)
    page = tree_page(factories.person("manager"), one)
    assert [words in duty.text for duty in due_of(page)] == ([True] if words else [])
    assert rows_of(page, "Status history")[0][1:4] == ["rogued", "rated 4.5", {None: "not known", False: "no", True: "yes"}[treated]]


@pytest.mark.parametrize(("decided", "words"), [(None, "two people. If"), ("kept", "the last one, of 1 Jun 2019, is “kept”.")])
def test_a_tree_rogued_without_a_decision_is_pointed_out(client, manager, decided, words):
    one = tree("KW-1")
    if decided:
        factories.decision(one, decided)
    rogue(one, datetime.date(2020, 3, 1), stump_treated=True)
    [duty] = due_of(tree_page(manager, one))
    assert duty.text.startswith("Rogued without a decision of two people") and words in duty.text
    assert [found.code for found in rogued_undecided(PedigreeTree.objects.all())] == ["KW-1"]
    factories.decision(one, "rogued", on=datetime.date(2020, 2, 1))
    assert due_of(tree_page(manager, one)) == []
    assert not rogued_undecided(PedigreeTree.objects.all()).exists()


def test_the_page_of_a_tree_shows_ratings_decisions_and_actions():
    one, scale = tree("KW-1"), factories.rating_scale()
    factories.rating(one, scale, 3)
    factories.decision(one, "rogued")
    page = tree_page(factories.person("manager"), one)
    rows, missing, labels = drawn_sections(page, SECTIONS)
    assert (list(rows), missing) == (["Ratings", "Selection decisions"], ["measured shares"])
    assert rows["Ratings"][0][2] == "not comparable: no native and no donor check"
    assert "The decision is to rogue it, and it is still standing" in due_of(page)[0].text
    assert labels == ["Rate the tree", "Decide on the tree"]
    plan = next(url for label, _value, url in page.get_page()["facts"] if label == "Plan")
    assert plan.endswith("?orchard=Mill+Brook&block=A")


def test_an_auditor_reads_the_parts_and_a_volunteer_gets_none():
    one = tree("KW-1")
    factories.rating(one, factories.rating_scale(), 3)
    rogue(one, datetime.date(2020, 3, 1), stump_treated=False)
    rows, missing, labels = drawn_sections(tree_page(factories.person("auditor"), one), SECTIONS)
    assert (list(rows), missing, labels) == (["Status history", "Ratings"], ["selection decisions", "measured shares"], [])
    volunteer = tree_page(factories.person("volunteer"), one)
    assert (due_of(volunteer), *drawn_sections(volunteer, SECTIONS)) == ([], {}, [], [])


def test_the_sections_of_a_tree_cost_a_fixed_number_of_queries():
    one, scale, manager = tree("KW-1"), factories.rating_scale(), factories.person("manager")

    def one_more(number):
        factories.rating(one, scale, 3, on=datetime.date(2019, 5, number))
        factories.decision(one, "kept")
        share_enter(actor=manager, tree=one, donor_share=Decimal("0.06"), method="markers", sampled_on=factories.day(2019))

    def queries():
        with CaptureQueriesContext(connection) as captured:
            page = tree_page(manager, one)
            due_of(page)
            drawn_sections(page, SECTIONS)
        return len(captured)

    one_more(1)
    few = queries()
    for number in range(2, 7):
        one_more(number)
    assert queries() == few == 8  # steps, decisions, ratings, their checks, shares, the tree with its parents, two thresholds
