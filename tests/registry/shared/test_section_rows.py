"""How a section cuts its rows and fills its last one; links of facts; actions whose route takes several keys."""

import pytest
from django.urls import reverse

from registry.models import Lot
from registry.views.shared.details import RecordDetailView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link
from tests import factories
from tests.pages import record_page

pytestmark = pytest.mark.django_db
CODES = (Column("Lot", "code"), Column("Year", "year"), Column("Unit", "unit"))


class LotPage(RecordDetailView):
    model = Lot
    action = "lot.view"


@pytest.fixture
def lot():
    return factories.seed_lot(code="S1", mother=factories.pedigree_tree(code="KW-1"))


def page_for(role, lot):
    return record_page(LotPage, factories.person(role), lot)


def section(rows, **more):
    return Section(title="Lots", rows=lambda page: rows, columns=CODES, unit="lots", **more)


def test_a_section_with_more_rows_than_shown_says_how_many(lot):
    rows = [factories.seed_lot(), factories.seed_lot(), factories.seed_lot()]
    [part] = section(rows, most=2, note="Of this tree.").draw(page_for("manager", lot))
    assert (len(part["rows"]), part["note"]) == (2, "Of this tree. The first 2 of 3.")


def test_a_long_section_counts_its_rows_only_when_it_is_cut(lot, django_assert_num_queries):
    for _ in range(3):
        factories.seed_lot()
    page, rows = page_for("manager", lot), Lot.objects.order_by("code")
    with django_assert_num_queries(1):
        [part] = section(rows, most=50).draw(page)
    assert (len(part["rows"]), part["note"]) == (4, "")
    with django_assert_num_queries(2):
        [part] = section(rows, most=2).draw(page)
    assert part["note"] == "The first 2 of 4."


def test_the_last_row_of_a_section_is_padded_to_its_columns(lot):
    [part] = section([lot], totals=lambda page, rows: [("On hand", "left", None, None)]).draw(page_for("manager", lot))
    assert [cell[3] for cell in part["totals"]] == [None, "blank", "blank"]


def test_a_fact_links_to_a_page_the_person_may_open(lot):
    fact = Fact("Mother", "mother.code", Link("pedigreetree_detail", "mother_id", "pedigree.view"))
    assert fact.draw(page_for("manager", lot)) == ("Mother", "KW-1", reverse("pedigreetree_detail", args=[lot.mother_id]))
    assert fact.draw(page_for("volunteer", lot)) == ("Mother", "KW-1", None)


def test_an_action_takes_several_keys_for_its_route(lot):
    action = Action("Impact", "impact", "trace.view", key=lambda page: ("lot", page.object.pk))
    assert action.draw(page_for("manager", lot)) == ("Impact", reverse("impact", args=["lot", lot.pk]))
