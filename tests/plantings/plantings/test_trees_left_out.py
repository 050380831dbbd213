"""Plantings of which some planted trees are not on record: their trees have records, and no survival follows from them."""

import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.calc.survival.census_choice import LATEST, CensusChoice
from plantings.imports.loading import sheet_load
from plantings.models import CauseTally, RoundProgress, SurvivalTally, Tree
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.identity.letters import letters_headers, letters_rows
from plantings.selectors.identity.trace import record_trace
from plantings.selectors.land.land import land_plantings
from plantings.selectors.permit_file.permit_file import permit_file
from plantings.selectors.plantings.plantings import plantings_listed
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.long_data import long_data
from plantings.selectors.survival.rounds import NUMBER_UNKNOWN
from plantings.selectors.survival.survival import survival_rows
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.plantings import planting_save
from plantings.services.trees import counted_plot_add
from plantings.views.permit_file.material_sections import places_section
from registry.selectors.audit.verify import verify_book
from tests import factories

pytestmark = pytest.mark.django_db
ON_RECORD = "3 on record of an unknown number planted"


@pytest.fixture
def garden():
    """Three trees on record, of which one is found dead at the second of two rounds."""
    planting = factories.planting(code="GARDEN", trees_left_out=True)
    trees = factories.trees(planting, factories.stock_lot(code="FAM-1"), 3)
    rounds = [factories.census_round(planting, season) for season in (1, 2)]
    factories.observe(rounds[0], dict.fromkeys(trees, "A"), height_cm=30)
    factories.observe(rounds[1], dict(zip(trees, "AAD", strict=True)))
    return planting, trees, rounds


def tables(person):
    return survival_rows(person, ("planting",), "lot", CensusChoice(LATEST))


def test_its_trees_are_in_no_figure_and_the_pages_say_why(client, garden):
    lead, (planting, trees, rounds) = factories.person(), garden
    table = tables(lead)
    assert not list(table.rows) and [(left.planting, left.reason) for left in table.left_out] == [("GARDEN", NUMBER_UNKNOWN)]
    assert [model.objects.count() for model in (SurvivalTally, CauseTally, RoundProgress)] == [0, 0, 0]
    assert list(long_data(lead, SurvivalFilter()).rows()) == []
    # each tree keeps its fate, and each round its number of records
    assert [Tree.objects.get(pk=tree.pk).fate for tree in trees] == ["alive", "alive", "dead"]
    client.force_login(lead)
    page = client.get(reverse("planting_detail", args=[planting.pk])).content.decode()
    assert "Nobody knows: some planted trees are not on record" in page and ON_RECORD in page
    assert ON_RECORD in client.get(reverse("planting_list")).content.decode()
    page = client.get(reverse("survival")).content.decode()
    assert "Of 1 planting nobody knows how many were planted" in page and "without a census" not in page
    assert client.get(reverse("round_detail", args=[rounds[1].pk])).status_code == 200
    assert recount_differences()[1] == [] and [fault for check in verify_book() for fault in check.faults] == []


def test_landowner_trace_and_letters_say_it_too(garden):
    planting, trees, _rounds = garden
    owner = factories.person("landowner", partner=planting.site.partner)
    [land] = land_plantings(owner, factories.day(2022))
    assert [words for _lot, _role, words in land.entries] == [ON_RECORD]
    [group] = [group for group in record_trace(factories.person(), trees[0].entry.lot).down if group.title == "Trees"]
    assert group.words == f"0 planted, 0 alive at the last complete census, besides {ON_RECORD}, by planting and lot."
    lead = factories.person()
    [row] = letters_rows(lead, trees[0].entry.lot)
    told = dict(zip(letters_headers(lead), row, strict=True))
    assert told["Planted on their land"] is None and ON_RECORD in told["What is planted where now"]
    paper = factories.authorization(actor=lead)
    planting.authorizations.add(paper)
    section = places_section(permit_file(paper, timezone.now()), lambda site: "")
    [cells] = section.rows
    assert cells[-1].endswith("some planted trees are not on record")
    assert [row.alive_count for row in plantings_listed(type(planting).objects)] == [None]


def test_saying_so_later_takes_the_trees_out_and_back(garden):
    lead, (planting, _trees, _rounds) = factories.person(), garden
    for is_left_out, alive in ((False, [3, 2]), (True, []), (False, [3, 2])):
        planting.trees_left_out = is_left_out
        planting_save(actor=lead, planting=planting)
        assert list(SurvivalTally.objects.order_by("round__opens_on").values_list("alive", flat=True)) == alive
        assert recount_differences()[1] == []
    assert [fault for check in verify_book() for fault in check.faults] == []


def test_a_counted_plot_beside_such_trees_counts_alone(garden):
    lead, (planting, trees, rounds) = factories.person(), garden
    plot = counted_plot_add(actor=lead, planting=planting, code="D1", lot=factories.seed_lot(), planted_count=50)
    for census_round in rounds:
        plot_count_record(actor=lead, census_round=census_round, plot=plot, alive=20, dead=5, observed_on=census_round.opens_on)
    factories.observe(rounds[1], {trees[0]: "D"})  # as a difference, beside tallies that are there
    assert set(SurvivalTally.objects.values_list("entry", "planted", "alive")) == {(plot.entry_id, 50, 20)}
    assert recount_differences()[1] == []


def test_a_sheet_says_it_of_a_planting():
    lead, site = factories.person(), factories.site(code="G1")
    header = "Planting,Site,Planted on,State,Supply,Some planted trees are not on record (yes/no)"
    rows = f"{header}\nOLD,{site.code},2019-04-20,established,before_records,yes\nNEW,{site.code},2019-04-20,established,before_records,\n"
    sheet_load(actor=lead, kind="planting", content=rows.encode(), filename="plantings.csv")
    assert dict(site.plantings.values_list("code", "trees_left_out")) == {"OLD": True, "NEW": False}
