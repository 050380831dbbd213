"""Treatments and ratings of old records, of which only the month or the year is known: no day is made up, and nothing is counted from one."""

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.urls import reverse

from plantings.imports.loading import sheet_load
from registry.calc.shared.part_dates import PartDate
from registry.imports.orchard.orchard import RatingSheet, SelectionDecisionSheet
from registry.imports.sheets.formats import export_bytes
from registry.models import Rating, SelectionDecision, Treatment
from registry.selectors.lots.handbook import handbook_row
from registry.selectors.lots.lot_steps import lot_calendar, lot_treatments
from registry.selectors.orchard.ratings import compared_ratings, latest_ratings
from registry.services.lots.seed_tests import treatment_enter
from registry.services.orchard.ratings import RatingDay, Reading, rating_correct
from tests import factories
from tests.plantings.loads.row_loads import content

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def load(lead, kind, *rows):
    return sheet_load(actor=lead, kind=kind, content=content(kind, rows), filename=f"{kind}.csv", reason="old book")


def treatment(lot, started_on, ended_on=None, kind="cold"):
    return {"lot": lot.code, "treatment_kind": kind, "started_on": started_on, "ended_on": ended_on or "", "operator": "A. Manager"}


def test_a_treatment_of_a_month_is_shown_as_it_is_known(client, lead):
    lot = factories.seed_lot(actor=lead, seeds=100)
    load(lead, "treatment", treatment(lot, "2012-11", "2013"))
    found = Treatment.objects.get()
    assert (found.started_on, found.ended_on) == (PartDate(2012, 11), PartDate(2013))
    page = client.get(reverse("lot_detail", args=[lot.pk])).content.decode()
    assert "Nov 2012" in page and "1 Nov 2012" not in page
    # the same row again completes nothing, and a full day is a treatment of its own
    assert load(lead, "treatment", treatment(lot, "2012-11", "2013")).counts["unchanged"] == 1


@pytest.mark.parametrize(
    ("started", "ended", "holds"),
    [
        ("2019-10-09", "2019-10", True),
        ("2019-10", "2019-10-01", True),
        ("2019", "2019-03-01", True),
        ("2019-10", "2019", True),
        ("2019-10-09", "2019-09", False),
        ("2019-10", "2018", False),
        ("2019", "2018-12-31", False),
    ],
)
def test_an_end_that_is_surely_before_the_start_is_refused(lead, started, ended, holds):
    """Surely before: the last day that the end can be is before the first day that the start can be."""
    lot, fields = factories.seed_lot(), {"kind": "other", "operator": "A. Manager", "started_on": started, "ended_on": ended}
    as_dates = {name: Treatment._meta.get_field(name).to_python(fields[name]) for name in ("started_on", "ended_on")}
    if holds:
        assert treatment_enter(actor=lead, lot=lot, **fields | as_dates).pk
    else:
        with pytest.raises(ValidationError, match="The end is before the start"):
            treatment_enter(actor=lead, lot=lot, **fields | as_dates)


def test_the_calendar_needs_the_day_that_a_stratification_began(lead):
    row = factories.handbook_row(cold_days_low=90, cold_days_high=120)
    mother = factories.pedigree_tree(taxon=factories.taxon(name=row.binomial))
    known, unknown = (factories.seed_lot(mother=mother) for _ in range(2))
    load(lead, "treatment", treatment(known, "2025-11-01"), treatment(unknown, "2025-11"))
    assert lot_calendar(lot_treatments(known), handbook_row(known.taxon.name))
    assert lot_calendar(lot_treatments(unknown), handbook_row(unknown.taxon.name)) is None


def orchard(lead):
    scale = factories.rating_scale(name="Canker", version="1")
    where = {"orchard": "North"}
    return scale, factories.pedigree_tree(code="M-1", generation_other="other", **where), factories.pedigree_tree(code="N-1", **where)


def rating(tree, rated_on, score):
    return {
        "tree": tree.code, "scale_name": "Canker", "scale_version": "1", "rated_on": rated_on, "method": "large_stem", "score": score,
        "rater": "R. Rater",
    }  # fmt: skip


def test_a_rating_of_a_month_is_compared_with_no_check(client, lead):
    _scale, tree, native = orchard(lead)
    load(lead, "rating", *(rating(each, day, score) for day in ("2014-05", "2015-05-20") for each, score in ((tree, 2), (native, 4))))
    lines = {line.rating.rated_on: line for line in compared_ratings(tree.ratings.select_related("tree__taxon", "scale"))}
    month, day = lines[PartDate(2014, 5)], lines[factories.day(2015, 5, 20)]
    assert month.comparison.native is None and "May 2014 says no day" in month.comparison.reason
    assert day.comparison.native == 4.0  # the native tree of that day
    page = client.get(reverse("pedigreetree_detail", args=[tree.pk])).content.decode()
    assert "May 2014" in page and "1 May 2014" not in page
    found, _scales = latest_ratings([tree.pk], factories.day(2014, 12, 31))
    assert [each.rated_on for each in found[tree.pk].values()] == [PartDate(2014, 5)]


def test_a_correction_may_find_the_day(lead):
    scale, tree, _native = orchard(lead)
    load(lead, "rating", rating(tree, "2014", 2))
    first = Rating.objects.get()
    day = RatingDay(scale, factories.day(2014, 5, 3), "large_stem", "R. Rater")
    rating_correct(actor=lead, rating=first, day=day, reading=Reading(tree, first.score), reason="the notes were found")
    assert Rating.objects.get(superseded_by=None).rated_on == factories.day(2014, 5, 3)


def test_a_decision_names_the_ratings_of_a_month(lead):
    _scale, tree, _native = orchard(lead)
    load(lead, "rating", rating(tree, "2014-05", 2))
    row = {
        "tree": "M-1", "decided_on": "2014-11-20", "decision": "kept", "evidence": "scored low", "ratings": "2014-05",
        "first_name": "A. Manager", "second_name": "B. Lead",
    }  # fmt: skip
    load(lead, "decision", row)
    assert [found.rated_on for found in SelectionDecision.objects.get().ratings.all()] == [PartDate(2014, 5)]
    for sheet, said in ((RatingSheet, "2014-05"), (SelectionDecisionSheet, "2014-05")):
        text = export_bytes(sheet, sheet.model.objects.all(), "csv", lead).decode()
        assert said in text and sheet_load(actor=lead, kind=sheet.kind, content=text.encode(), filename="a.csv").counts["unchanged"] == 1


def test_the_database_refuses_such_an_end_too(lead):
    lot = factories.seed_lot()
    found = treatment_enter(actor=lead, lot=lot, kind="other", operator="A. Manager", started_on=PartDate(2019, 10))
    found.pk, found.ended_on = None, PartDate(2019, 9)
    with pytest.raises(DatabaseError), transaction.atomic():
        Treatment.save_base(found, force_insert=True)
