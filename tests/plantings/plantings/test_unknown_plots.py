"""Counted plots that nobody knows the number planted of: counts over time, and in no figure of survival."""

from types import SimpleNamespace

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from plantings.calc.survival.census_choice import AGE, LATEST, CensusChoice
from plantings.forms.plantings import CountedPlotForm
from plantings.imports.kinds import KINDS
from plantings.imports.loading import plan_file, sheet_load
from plantings.models import CountedPlot, Planting, PlotCount, RoundProgress, SurvivalTally
from plantings.selectors.census.count_queue import count_queue
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.identity.letters import letters_headers, letters_rows
from plantings.selectors.identity.trace import record_trace
from plantings.selectors.land.land import land_plantings
from plantings.selectors.permit_file.permit_file import permit_file
from plantings.selectors.plantings.plantings import entry_lines, plantings_listed
from plantings.selectors.reports.reports import rests_on
from plantings.selectors.sites.map_points import map_points
from plantings.selectors.survival.filters import REVIEWED
from plantings.selectors.survival.long_data import long_data
from plantings.selectors.survival.rounds import NUMBER_UNKNOWN, SurvivalFilter
from plantings.selectors.survival.survival import survival_rows
from plantings.services.census.plot_counts import plot_count_check, plot_count_correct, plot_count_record
from plantings.services.census.reviews import records_review
from plantings.services.trees import counted_plot_add
from plantings.views.permit_file.material_sections import places_section
from plantings.views.phone.data import phone_data
from registry.selectors.audit.verify import verify_book
from registry.selectors.identity.descent import linked
from registry.services.identity.questions import question_raise
from tests import factories
from tests.properties import examples

pytestmark = pytest.mark.django_db
ROUNDS = 3


def unknown_plot(planting, lot, code="U1", **given):
    return counted_plot_add(actor=factories.person(), planting=planting, code=code, lot=lot, planted_count=None, **given)


def count(census_round, plot, alive, dead=0, **given):
    given = {"actor": factories.person(), "observed_on": census_round.opens_on} | given
    return plot_count_record(census_round=census_round, plot=plot, alive=alive, dead=dead, **given)


def figures(lead):
    """Every figure of survival there is, by every way it is given out."""
    reviewed, with_open = SurvivalFilter(review=REVIEWED), SurvivalFilter(open_rounds=True)
    tables = [
        survival_rows(lead, by, "lot", moment, filters)
        for by in (("site", "lineage"), ("planting",))
        for moment in (CensusChoice(LATEST), CensusChoice(AGE, 2))
        for filters in (SurvivalFilter(), reviewed, with_open)
    ]
    return {
        "tables": [(list(table.rows), table.totals, table.not_complete, table.left_out, table.ages) for table in tables],
        "long": list(long_data(lead, SurvivalFilter()).rows()),
        "map": [map_points(lead, moment) for moment in (None, CensusChoice(AGE, 2))],
        "report": rests_on(lead, "lot"),
        "stored": [list(model.objects.order_by("pk").values()) for model in (SurvivalTally, RoundProgress)],
        "supplied": list(plantings_listed(Planting.objects).order_by("pk").values_list("planted_count", "alive_count")),
    }


WHAT = st.tuples(
    st.integers(0, 1),  # which of the plots
    st.integers(0, ROUNDS - 1),  # at which round
    st.integers(0, 400),
    st.integers(0, 9),
    st.sampled_from(["as it came", "asked back", "accepted", "rejected", "corrected"]),
)


class Figures(TestCase):
    """Plots of an unknown number beside others change no figure."""

    @settings(max_examples=examples(4), deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(WHAT, min_size=1, max_size=5))
    def test_a_plot_of_unknown_number_changes_no_figure(self, counts):
        lead = factories.person()
        planting = factories.planting()
        lot, seed = factories.stock_lot(), factories.seed_lot()
        trees = factories.trees(planting, lot, 4)
        known = counted_plot_add(actor=lead, planting=planting, code="D1", lot=seed, planted_count=50)
        rounds = [factories.census_round(planting, season) for season in range(1, ROUNDS + 1)]
        factories.observe(rounds[0], dict(zip(trees, ["A", "A", "D", "NF"], strict=True)))
        for census_round, alive in zip(rounds[:2], (40, 30), strict=True):
            count(census_round, known, alive, 5)
        before = figures(lead)
        plots = [unknown_plot(planting, seed), unknown_plot(planting, lot, "U2")]
        for number, place, alive, dead, what in counts:
            stored = count(rounds[place], plots[number], alive, dead)
            if what == "corrected":
                plot_count_correct(actor=lead, count=stored, reason="misread", alive=alive + 1)
            elif what != "as it came":
                state = what.replace(" ", "_")
                records_review(actor=lead, state=state, counts=[stored], reason="" if state == "accepted" else "look again")
        assert figures(lead) == before
        # and a known plot counted after them gives what it gives without them
        count(rounds[2], known, 20, 8)
        tally = SurvivalTally.objects.get(round=rounds[2], entry=known.entry)
        assert (tally.planted, tally.alive, tally.dead, tally.not_found) == (50, 20, 8, 22)
        assert recount_differences()[1] == []


@pytest.fixture
def place():
    """An old planting of nothing but two plots of an unknown number, counted at two of three rounds."""
    lead, lot = factories.person(), factories.seed_lot()
    planting = factories.planting(code="OLD", crew=[factories.person("volunteer")])
    plots = [unknown_plot(planting, lot, code) for code in ("U1", "U2")]
    rounds = [factories.census_round(planting, season) for season in (1, 2, 3)]
    for census_round, alive in zip(rounds[:2], (31, 24), strict=True):
        count(census_round, plots[0], alive, 3)
    return SimpleNamespace(lead=lead, lot=lot, planting=planting, plots=plots, rounds=rounds)


def test_the_planting_shows_the_counts_and_says_why_no_survival(client, place):
    client.force_login(place.lead)
    page = client.get(reverse("planting_detail", args=[place.planting.pk])).content.decode()
    assert "31 alive, 3 dead" in page and "24 alive, 3 dead" in page
    assert "counts over time and no survival" in page and "an unknown number planted in 2 plots" in page
    [row] = plantings_listed(type(place.planting).objects.filter(pk=place.planting.pk))
    assert (row.last_round, row.planted_count, row.unknown_plots) == (place.rounds[1].label, 0, 2)
    [line] = entry_lines(place.planting)
    assert (line.planted, line.unknown_plots, line.supplies) == (0, 2, ())


def test_survival_names_the_planting_and_why_it_is_left_out(client, place):
    table = survival_rows(place.lead, ("planting",), "lot", CensusChoice(LATEST))
    assert not list(table.rows) and [(left.planting, left.reason) for left in table.left_out] == [("OLD", NUMBER_UNKNOWN)]
    assert not SurvivalTally.objects.exists() and not RoundProgress.objects.exists()
    client.force_login(place.lead)
    page = client.get(reverse("survival")).content.decode()
    assert "Of 1 planting nobody knows how many were planted" in page and "without a census" not in page


def test_records_of_plots_of_unknown_number_are_whole(place):
    assert recount_differences()[1] == []
    assert [fault for check in verify_book() for fault in check.faults] == []


def test_every_page_of_the_round_takes_a_plot_without_a_number(client, place):
    client.force_login(place.lead)
    census_round = place.rounds[1]
    for name in ("round_detail", "census_counts", "round_review"):
        assert client.get(reverse(name, args=[census_round.pk])).status_code == 200
    assert "number planted not known" in client.get(reverse("census_counts", args=[place.rounds[2].pk])).content.decode()
    uuid = f"p{place.plots[1].pk}"
    typed = {f"{uuid}-uuid": "5b1f3f0e-6d0c-4a53-9a49-0a2f4f1d5f11", f"{uuid}-alive": "900", f"{uuid}-dead": "", f"{uuid}-note": ""}
    sent = client.post(
        reverse("census_counts", args=[census_round.pk]), {"observed_on": str(census_round.opens_on), "observer": ""} | typed
    )
    assert sent.status_code == 302 and PlotCount.objects.get(plot=place.plots[1]).alive == 900
    # more than last time is asked about; nothing is missing from an unknown number
    looks = [look for line in count_queue(census_round).odd for look in line.looks]
    assert not any("missing" in look for look in looks)


def test_the_phone_is_given_the_plot_without_a_number(place):
    found = phone_data(place.rounds[2], place.lead)
    assert found["plots"] == [[place.plots[0].pk, "U1"], [place.plots[1].pk, "U2"]]


def test_only_old_records_may_lack_the_number(place):
    stock = factories.planting(supply="own_stock")
    with pytest.raises(ValidationError, match="every seed and plant is accounted for"):
        unknown_plot(stock, place.lot)
    with pytest.raises(ValidationError, match="only in old records, planted more than 30 days ago"):
        unknown_plot(place.planting, place.lot, "U3", on=timezone.localdate())
    assert not stock.entries.exists() and not place.planting.counted_plots.filter(code="U3").exists()


def test_a_digit_too_many_is_refused_planted_and_counted(place):
    """Two plots of 2,147,483,647 seeds made a sum that PostgreSQL cannot store in the tallies."""
    planting, lot = factories.planting(code="BIG", supply="before_records"), factories.stock_lot(code="BIG-1")
    with pytest.raises(ValidationError, match="Plot B: no plot holds more than 1,000,000 seeds or plants"):
        counted_plot_add(actor=factories.person(), planting=planting, code="B", lot=lot, planted_count=2_147_483_647)
    plot = CountedPlot.objects.filter(planted_count=None).first()
    with pytest.raises(ValidationError, match="No plot holds more than 1,000,000 trees"):
        plot_count_check(planting=plot.planting, plot=plot, alive=2_147_483_647, dead=0, observed_on=timezone.localdate())


def test_the_form_wants_a_number_or_a_tick(place):
    typed = {"planting": "OLD", "code": "U9", "lot": place.lot.code, "role": "test", "planted_count": "", "on": ""}
    assert "tick that nobody knows" in CountedPlotForm(typed).errors["planted_count"][0]
    assert "Remove one of the two" in CountedPlotForm(typed | {"planted_count": "5", "is_unknown": "on"}).errors["planted_count"][0]
    assert CountedPlotForm(typed | {"is_unknown": "on"}).is_valid()


def test_a_blank_number_in_a_sheet_is_an_unknown_one(place):
    text = f"Planting,Plot,Lot,Planted (count)\nOLD,U7,{place.lot.code},\nOLD,D7,{place.lot.code},60\n".encode()
    _sheet, _table, plan = plan_file("counted_plot", text, "plots.csv", {})
    assert [(warning.row, warning.column) for warning in plan.warnings] == [(2, "Planted (count)")]
    sheet_load(actor=place.lead, kind="counted_plot", content=text, filename="plots.csv")
    numbers = dict(CountedPlot.objects.values_list("code", "planted_count"))
    assert numbers == {"U1": None, "U2": None, "U7": None, "D7": 60}
    # the same rows again change nothing, and what is downloaded loads as it is
    assert plan_file("counted_plot", text, "plots.csv", {})[2].counts["unchanged"] == 2
    rows = KINDS["counted_plot"]().export(CountedPlot.objects.order_by("code")).csv
    again = plan_file("counted_plot", rows.encode(), "plots.csv", {})[2]
    assert (again.counts["unchanged"], again.problems) == (4, [])


def test_percentages_are_refused_where_the_number_is_unknown(place):
    rounds = place.rounds[2]
    plots = [unknown_plot(place.planting, place.lot, f"P{number}") for number in range(20)]
    lines = [f"OLD,{rounds.label},{plot.code},{5 * (number % 20)},{rounds.opens_on}" for number, plot in enumerate(plots)]
    text = "\n".join(["Planting,Season,Plot,Living,Observed on", *lines])
    spec = {"columns": {"planting": "Planting", "round": "Season", "plot": "Plot", "alive": "Living", "observed_on": "Observed on"}}
    plan = plan_file("plot_count", text.encode(), "c.csv", spec)[2]
    assert [
        problem.message
        for problem in plan.problems
        if "looks like percentages" in problem.message and "an unknown number" in problem.message
    ]
    assert linked(PlotCount.objects, "plot", {plot.pk for plot in plots}, "pk") == []


def test_trace_letters_and_files_name_an_unknown_number(place):
    """Trace, letters about a doubt, the landowner's page and the permit file say that nobody knows the number, and never 0."""
    words = "an unknown number planted in 2 plots"
    [group] = [group for group in record_trace(place.lead, place.lot).down if group.title == "Trees"]
    assert [row.what for row in group.rows] == [f"{words} as test"] and "besides an unknown number in 2 plots" in group.words
    question_raise(actor=place.lead, about=place.lot, raised_on=factories.day(2021), reason="a label was mixed up")
    [letter] = letters_rows(place.lead, place.lot)
    told = dict(zip(letters_headers(place.lead), letter, strict=True))
    assert told["Planted on their land"] is None and words in told["What is planted where now"]
    [land] = land_plantings(factories.person("landowner", partner=place.planting.site.partner), factories.day(2022))
    assert land.entries == [(place.lot.code, "test", words)]
    assert [plot[:3] for plot in land.plots] == [("U1", None, 24), ("U2", None, None)]
    paper = factories.authorization(actor=place.lead)
    place.planting.authorizations.add(paper)
    section = places_section(permit_file(paper, timezone.now()), lambda site: "")
    [row] = section.rows
    shown = dict(zip([column.label for column in section.columns], row, strict=True))
    assert (shown["Under this paper"], shown["Planted in all"], shown["Plots of an unknown number"]) == (None, None, 2)
    assert shown["Fates"] == "2 plots of an unknown number planted"
