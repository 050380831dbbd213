import html
import re
from types import SimpleNamespace

import pytest
from django.urls import reverse

from registry.views.shared.sections import Action, Fact, Panel, Section, draw_sections, drawn
from registry.views.shared.tables import Column, Link
from tests import factories


class Person:
    def __init__(self, *actions):
        self.actions = actions

    def may(self, action):
        return action in self.actions


def page_of(record, *actions):
    user = Person(*actions)
    return SimpleNamespace(object=record, user=user, may=user.may)


LOT = SimpleNamespace(pk=7, code="P7", note="", closed=False, mother=SimpleNamespace(code="M1"))
ADD = Action("Enter a test", "lot_test", "seedtest.enter")
TESTS = Section(
    title="Tests", unit="tests", missing="seed tests", add=ADD, rows=lambda page: page.object.tests,
    columns=(Column("Kind", "kind"), Column("Lot", "lot.code", url=Link("lot_detail", "lot.pk", "lot.view")), Column("Mail", "mail", may="person.view")),
)  # fmt: skip


def lot_with(*tests):
    return SimpleNamespace(pk=7, tests=[SimpleNamespace(kind=kind, mail="x@y", lot=LOT) for kind in tests])


def test_a_section_without_rows_is_only_named_at_the_foot():
    parts, missing = draw_sections(page_of(lot_with(), "seedtest.enter"), [TESTS])
    assert (parts, missing) == ([], [("seed tests", reverse("lot_test", args=[7]))])


def test_who_may_not_add_gets_no_link_at_the_foot():
    assert draw_sections(page_of(lot_with()), [TESTS])[1] == [("seed tests", None)]


def test_a_section_with_rows_counts_them_and_offers_to_add():
    [part], missing = draw_sections(page_of(lot_with("float", "cut"), "seedtest.enter"), [TESTS])
    assert (part["count"], part["unit"], part["actions"]) == (2, "tests", [("Enter a test", reverse("lot_test", args=[7]))])
    assert missing == []


def test_columns_and_links_follow_the_role():
    [part], _ = draw_sections(page_of(lot_with("float")), [TESTS])
    assert [label for _, label, _ in part["columns"]] == ["Kind", "Lot"]
    assert part["rows"][0].cells[1] == ("P7", "left", None, None)
    [part], _ = draw_sections(page_of(lot_with("float"), "lot.view", "person.view"), [TESTS])
    assert [label for _, label, _ in part["columns"]] == ["Kind", "Lot", "Mail"]
    assert part["rows"][0].cells[1][2] == reverse("lot_detail", args=[7])


def test_a_section_that_a_role_may_not_see_is_not_read():
    secret = Section(title="Papers", may="authorization.view", rows=lambda page: pytest.fail("read"), columns=(), missing="papers")
    assert draw_sections(page_of(LOT), [secret]) == ([], [])


def test_a_panel_without_parts_is_not_drawn():
    assert draw_sections(page_of(LOT), [Panel(draw_parts=lambda page: [], missing="a map")]) == ([], [("a map", None)])


def test_a_blank_fact_is_left_out_unless_it_must_be_noticed():
    facts = (Fact("Code", "code"), Fact("Note", "note"), Fact("Planted on", lambda page: None, always=True), Fact("Closed", "closed"))
    assert drawn(page_of(LOT), facts) == [("Code", "P7", None), ("Planted on", None, None), ("Closed", "no", None)]


def test_an_action_is_drawn_for_who_may_and_where_it_applies():
    may = Action("Sow", "lot_sow", "ledger.enter")
    elsewhere = Action("Put back", "lot_put_back", "ledger.enter", when=lambda page: page.object.closed)
    asked = Action(lambda page: f"Add to {page.object.code}", "tree_add", "tree.edit", key=None, query=lambda page: {"planting": "A&B"})
    assert drawn(page_of(LOT, "ledger.enter"), (may, elsewhere, asked)) == [("Sow", reverse("lot_sow", args=[7]))]
    assert drawn(page_of(LOT, "tree.edit"), (asked,)) == [("Add to P7", reverse("tree_add") + "?planting=A%26B")]


@pytest.mark.django_db
def test_a_page_shows_four_actions_and_puts_the_rest_in_a_menu(client):
    lead = factories.person("lead")
    planting = factories.planting()
    factories.trees(planting, count=1, actor=lead)
    client.force_login(lead)
    page = html.unescape(client.get(reverse("planting_detail", args=[planting.pk])).content.decode())
    shown, menu = re.search(r'<ul class="actions">(.*?)<details class="menu more">(.*?)</details>', page, re.S).groups()
    assert shown.count("<a ") == 4
    assert menu.count("<a ") >= 1 and "Trace up and down" in menu
    assert shown.count('class="button"') == 1


@pytest.mark.django_db
def test_the_foot_of_a_page_names_what_is_not_recorded(client):
    lead = factories.person("lead")
    planting = factories.planting()
    client.force_login(lead)
    page = client.get(reverse("planting_detail", args=[planting.pk])).content.decode()
    foot = re.search(r'<p class="missing">(.*?)</p>', page, re.S)[1]
    assert foot.startswith("Nothing recorded yet: ")
    assert f'<a href="{reverse("round_add")}?planting={planting.code}">census rounds</a>' in foot
    assert "<h2>Census rounds</h2>" not in page
