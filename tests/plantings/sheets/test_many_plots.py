"""Sheets of counted plots and their counts: rows of places not on file are named at once, and thousands cost few queries."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from plantings.imports.loading import plan_file, sheet_load
from plantings.models import CountedPlot, Observation, PlotCount
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.reading_options import SheetError
from tests import factories

pytestmark = pytest.mark.django_db

PLOTS = "Planting,Plot,Lot,Planted (count)\n"
COUNTS = "Planting,Season,Plot,Alive (count),Observed on\n"


@pytest.fixture
def place():
    lead = factories.person("lead")
    planting = factories.planting(code="P")
    lot = factories.stock_lot(actor=lead, plants=90_000, code="L")
    return lead, planting, lot, factories.census_round(planting)


def load(lead, kind, text, spec=None):
    with CaptureQueriesContext(connection) as captured:
        sheet_load(actor=lead, kind=kind, content=text.encode(), filename=f"{kind}.csv", spec=spec)
    return len(captured)


def test_more_plots_and_counts_ask_the_database_hardly_more(place):
    lead, planting, _lot, one = place
    day = one.opens_on.isoformat()

    def plots(first, count):
        return PLOTS + "".join(f"P,D{number},L,50\n" for number in range(first, first + count))

    def counts(first, count):
        return COUNTS + "".join(f"P,{one.label},D{number},40,{day}\n" for number in range(first, first + count))

    load(lead, "counted_plot", plots(0, 5))
    few = load(lead, "plot_count", counts(0, 5))
    plots_many = load(lead, "counted_plot", plots(5, 200))
    counts_many = load(lead, "plot_count", counts(5, 200))
    assert CountedPlot.objects.filter(planting=planting).count() == 205 and PlotCount.objects.count() == 205
    assert counts_many <= few + 10 and plots_many <= 100


def test_counts_of_plots_that_are_not_on_file_are_wrong_and_not_new(place):
    lead, _planting, _lot, one = place
    load(lead, "counted_plot", PLOTS + "P,D1,L,50\n")
    day = one.opens_on.isoformat()
    text = COUNTS + f"P,{one.label},D1,40,{day}\nP,{one.label},D2,40,{day}\nP,2050 autumn,D1,40,{day}\nP,{one.label},D1,51,{day}\n"
    _sheet, _table, plan = plan_file("plot_count", text.encode(), "c.csv", {})
    assert plan.counts["wrong"] == 3 and plan.counts["new"] == 1
    said = " ".join(str(problem) for problem in plan.problems)
    assert "row 3, column 'Plot': 'D2' is not a counted plot of planting P" in said
    assert "row 4, column 'Season': '2050 autumn' is not a round of planting P" in said
    _sheet, _table, plan = plan_file("plot_count", (COUNTS + f"P,{one.label},D1,51,{day}\n").encode(), "c.csv", {})
    assert "51 alive and 0 dead are more than the 50 planted" in str(plan.problems[0])
    with pytest.raises(SheetRefused):
        load(lead, "counted_plot", PLOTS + "P,D1,L,60\n")


def test_percentages_under_a_header_of_survival_are_not_counts(place):
    lead, _planting, _lot, one = place
    rows = "".join(f"D{number},{(90, 85, 100, 70, 65)[number % 5]}\n" for number in range(24))
    columns = {"planting": {"constant": "P"}, "code": "Plot", "lot": {"constant": "L"}, "planted_count": {"constant": 100}}
    with pytest.raises(SheetError, match="'Surv' holds a percentage or a rate"):
        load(lead, "counted_plot", f"Plot,Surv\n{rows}", {"columns": columns})
    load(lead, "counted_plot", f"Plot,Y\n{rows}", {"columns": columns})
    alive = {
        "planting": {"constant": "P"},
        "round": {"constant": one.label},
        "plot": "Plot",
        "observed_on": {"constant": one.opens_on.isoformat()},
    }
    with pytest.raises(SheetRefused, match="24 values from 65 to 100, and 100 planted in every plot"):
        load(lead, "plot_count", f"Plot,Y\n{rows}", {"columns": alive | {"alive": "Y"}})
    assert not PlotCount.objects.exists()
    load(lead, "plot_count", f"Plot,Surv\n{rows}", {"columns": alive | {"alive": "Surv"}, "these_are_counts": True})
    assert PlotCount.objects.count() == 24
    with pytest.raises(SheetError, match="neither true nor false"):
        load(lead, "plot_count", f"Plot,Surv\n{rows}", {"columns": alive | {"alive": "Surv"}, "these_are_counts": "yes"})


def test_a_tree_that_was_not_visited_needs_no_day(place):
    lead, planting, lot, one = place
    first, second = factories.trees(planting, lot, 2, actor=lead)
    head = "Planting,Season,Tag,Status,Observed on\n"
    load(lead, "census", head + f"P,{one.label},{first.tag},NV,\n")
    assert Observation.objects.get().observed_on == one.opens_on
    assert plan_file("census", (head + f"P,{one.label},{first.tag},NV,\n").encode(), "c.csv", {})[2].counts["unchanged"] == 1
    with pytest.raises(SheetRefused, match="'Observed on': is blank"):
        load(lead, "census", head + f"P,{one.label},{second.tag},A,\n")
