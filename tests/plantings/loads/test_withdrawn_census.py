"""A load that brought trees and their census is withdrawn as one: every figure is as before it, and the same sheet may come again."""

import csv
import io
import json
from collections import Counter

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from plantings.choices import ReviewState
from plantings.exports.book import book_export
from plantings.imports.combined.loading import combined_load
from plantings.imports.kinds import KINDS
from plantings.imports.withdrawing import load_take_back
from plantings.models import Block, CensusRound, CountedPlot, Observation, Planting, PlantingEntry, PlotCount, Site, Tree, WithdrawnRecord
from plantings.selectors.census.recount import recount_differences
from plantings.services.census.reviews import records_review
from plantings.services.census.second import second_draw_make
from plantings.views.api.description import API_VIEWS
from registry.imports.sheets.formats import export_bytes
from registry.models import AuditEntry, Lot, Partner, Taxon
from registry.selectors.audit.verify import verify_book
from registry.services.audit.book_load import book_load
from tests import factories
from tests.plantings.sheets.combined_sheet import KINDS as PARTS
from tests.plantings.sheets.combined_sheet import sheet
from tests.properties import examples
from tests.registry.audit.test_book import content as folder_content

pytestmark = pytest.mark.django_db

HEAD = "Site,Family,Plot,Tag,State,Season"
STATES = {"alive": "A", "dead": "D", "missing": "NF"}
OPENS, CLOSES = ({year: f"{year}-{day}" for year in ("2020", "2021", "2022")} for day in ("09-01", "10-15"))
SEASONS = PARTS | {
    "round": {
        "columns": PARTS["round"]["columns"] | {
            "label": "Season", "growing_seasons": {"from": "Season", "values": {"2020": "2", "2021": "3", "2022": "4"}, "rest": "refuse"},
            "opens_on": {"from": "Season", "values": OPENS, "rest": "refuse"},
            "closes_on": {"from": "Season", "values": CLOSES, "rest": "refuse"},
        }
    },
    "census": {
        "columns": {
            "planting": "Site", "round": "Season", "tag": "Tag", "observed_on": {"from": "Season", "values": OPENS, "rest": "refuse"},
            "status": {"from": "State", "values": STATES, "rest": "refuse"},
        }
    },
}  # fmt: skip
EVERYTHING = (Taxon, Lot, Partner, Site, Planting, PlantingEntry, Block, Tree, CensusRound)


def load(lead, rows, **given):
    """Load (tag, season, state) rows; a tag says of which site, family and plot its tree is."""
    lines = [HEAD, *(f"{tag[0]},F{tag[1]},{tag[2] if tag[2] != '0' else ''},{tag},{state},{season}" for tag, season, state in rows)]
    content = "\n".join(lines).encode()
    return combined_load(actor=lead, content=content, filename="trees.csv", spec={"parts": SEASONS}, **given).load


def withdraw(lead, found):
    return load_take_back(actor=lead, load=found, reason="the wrong workbook")


def current_sheets(lead):
    """{kind: its rows, in no order} of every sheet that says what is on file now."""
    found = {}
    for kind in ("taxon", "lot", "partner", "site", "planting", "block", "tree", "counted_plot", "round", "census", "plot_count"):
        model = KINDS[kind].model
        records = model.objects.for_user(lead)
        content = export_bytes(KINDS[kind], records.current() if hasattr(records, "current") else records, "csv", lead)
        found[kind] = Counter(tuple(row) for row in csv.reader(io.StringIO(content.decode("utf-8-sig"))))
    return found


def figures(client, lead):
    """What screens and programs answer, with the balances and the sheets. Rows are compared in no order: some go by the age of a record."""
    found = {"sheets": current_sheets(lead), "balances": sorted(Lot.objects.values_list("code", "balance"))}
    for name in API_VIEWS:
        answer = client.get(reverse(name))
        assert answer.status_code == 200, (name, answer.content)
        found[name] = Counter(json.dumps(row, sort_keys=True) for row in answer.json()["rows"])
    for name in ("tree_list", "planting_list", "site_list", "lot_list"):
        found[name] = Counter(client.get(reverse(name), {"download": "csv"}).content.splitlines())
    return found


def is_clean():
    checked, differences = recount_differences()
    return checked and differences == [] and [fault for check in verify_book() for fault in check.faults] == []


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


A_ROW = st.tuples(
    st.builds("{}{}{}{}".format, st.sampled_from("HR"), st.sampled_from("12"), st.sampled_from("01"), st.sampled_from("ab")),
    st.sampled_from(("2020", "2021", "2022")),
    st.sampled_from(tuple(STATES)),
)
SOME_ROWS = st.lists(A_ROW, min_size=1, max_size=8, unique_by=lambda row: row[:2])


@settings(max_examples=examples(5), deadline=None, phases=(Phase.explicit, Phase.generate), suppress_health_check=list(HealthCheck))
@given(first=SOME_ROWS, second=SOME_ROWS)
def test_after_a_withdrawal_every_figure_is_as_before_the_load(client, lead, first, second):
    """The second sheet may name trees, rounds and records of the first, bring its own, and correct what is on file."""
    with transaction.atomic():
        load(lead, first)
        before = figures(client, lead)
        found = load(lead, second, reason="the list of the crew")
        if found is not None:
            with_it = figures(client, lead)
            withdraw(lead, found)
            assert figures(client, lead) == before and is_clean()
            load(lead, second, reason="the list of the crew")
            assert figures(client, lead) == with_it and is_clean()
        transaction.set_rollback(True)


def test_trees_and_census_of_one_sheet_are_withdrawn_to_an_empty_book(client, lead):
    empty = figures(client, lead)
    rows = [("H11a", "2020", "alive"), ("H11b", "2020", "dead"), ("R20a", "2021", "alive")]
    found = load(lead, rows)
    records = set(Observation.objects.values_list("pk", flat=True))
    withdraw(lead, found)
    assert figures(client, lead) == empty and is_clean()
    assert not any(model.objects.exists() for model in EVERYTHING)
    # every record of the census is there, and says of which tree and round it was
    assert set(Observation.objects.values_list("pk", flat=True)) == records and not Observation.objects.current().exists()
    assert str(Observation.objects.order_by("pk").first()).startswith("H/H11a (withdrawn) A on ")
    said = WithdrawnRecord.objects.get(tree__tag="R20a")
    assert (said.load, said.entered_by, said.planting_code, said.lot_code, said.role, said.block_code) == (
        found,
        lead,
        "R",
        "F2",
        "test",
        "",
    )
    assert said.reason == f"load {found.pk} withdrawn: the wrong workbook"
    assert AuditEntry.objects.filter(verb="tree.withdrawn").count() == 3
    again = load(lead, rows)
    assert again.counts == found.counts and Observation.objects.counting().count() == 3 and is_clean()


def test_a_record_of_a_withdrawn_tree_cannot_be_accepted_back(lead):
    withdraw(lead, load(lead, [("H11a", "2020", "alive")]))
    with pytest.raises(ValidationError, match="was withdrawn with the tree, plot or round"):
        records_review(actor=lead, state=ReviewState.ACCEPTED, observations=Observation.objects.all())


def test_plots_and_their_counts_are_withdrawn_as_one(client, lead):
    plots = {kind: PARTS[kind] for kind in ("taxon", "lot", "partner", "site", "planting", "round")} | {
        "counted_plot": {"columns": {"planting": "Site", "code": "Tag", "lot": "Family", "planted_count": {"constant": "50"}}},
        "plot_count": {
            "columns": {"planting": "Site", "round": {"constant": "2020"}, "plot": "Tag", "alive": "Height", "observed_on": "Seen"}
        },
    }
    empty = figures(client, lead)
    found = combined_load(actor=lead, content=sheet("Hollow,F1,,D1,20,,2020-09-12"), filename="p.csv", spec={"parts": plots}).load
    withdraw(lead, found)
    assert figures(client, lead) == empty and is_clean()
    assert not CountedPlot.objects.exists() and str(PlotCount.objects.get()).startswith("Hollow/D1 (withdrawn) 20 alive on ")


def test_what_rests_on_a_tree_or_a_round_of_the_load_is_named(lead):
    found = load(lead, [("H11a", "2020", "alive")])
    factories.observe(CensusRound.objects.get(), {Tree.objects.get(): "D"}, actor=lead)
    with pytest.raises(ValidationError, match="a record of the kind “observation” rests on it"):
        withdraw(lead, found)
    assert Tree.objects.exists() and not WithdrawnRecord.objects.exists()


def test_the_runs_of_not_found_follow_a_round_that_goes(lead):
    """Not found at two adjacent rounds is presumed dead from the first; the definition is in DESIGN of fate, and a round between parts
    them: with nobody at the tree in 2021, the two are not adjacent."""
    load(lead, [("H11a", "2020", "missing"), ("H11b", "2020", "alive"), ("H11a", "2022", "missing")])
    assert Tree.objects.get(tag="H11a").fate == "presumed_dead"
    between = load(lead, [("H11b", "2021", "alive")])
    assert Tree.objects.get(tag="H11a").fate == "not_found"
    withdraw(lead, between)
    assert Tree.objects.get(tag="H11a").fate == "presumed_dead" and is_clean()


def test_the_database_has_no_tree_without_a_lot_unless_it_was_withdrawn(lead):
    load(lead, [("H11a", "2020", "alive")])
    with pytest.raises(DatabaseError), transaction.atomic():
        Tree.objects.update(entry=None)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE plantings_tree SET planting_id = NULL, entry_id = NULL, block_id = NULL")
    faults = [fault for check in verify_book() for fault in check.faults]
    assert any(fault.endswith("it has no planting, and no load was withdrawn with it") for fault in faults)


@pytest.mark.parametrize("accepted", [True, False])
def test_a_record_corrected_back_has_the_review_it_had(lead, accepted):
    load(lead, [("H11a", "2020", "alive")])
    if accepted:
        records_review(actor=lead, state=ReviewState.ACCEPTED, observations=Observation.objects.all())
    found = load(lead, [("H11a", "2020", "dead")], reason="the list of the crew")
    withdraw(lead, found)
    assert Observation.objects.current().get().status == "A" and is_clean()
    assert Observation.objects.unread().count() == (0 if accepted else 1)


def test_a_record_that_was_rejected_stays_so(lead):
    load(lead, [("H11a", "2020", "alive")])
    records_review(actor=lead, state=ReviewState.REJECTED, observations=Observation.objects.all(), reason="another tree")
    found = load(lead, [("H11a", "2020", "dead")], reason="the list of the crew")
    assert Observation.objects.counting().get().status == "D"
    withdraw(lead, found)
    assert not Observation.objects.current().exists() and is_clean()


def test_a_photo_and_a_second_measurement_rest_on_the_load(lead):
    found = load(lead, [("H11a", "2020", "alive"), ("H11b", "2020", "alive")])
    factories.photo(Observation.objects.order_by("pk").first())
    with pytest.raises(ValidationError, match=r"1 photo came to records of the load, the first to H/H11a A on "):
        withdraw(lead, found)
    other = load(lead, [("R11a", "2020", "alive")])
    second_draw_make(actor=lead, census_round=CensusRound.objects.get(planting__code="R"), count=1, measured_by="A. Second")
    with pytest.raises(ValidationError, match=r"Record R/R11a A on .* was drawn for a second measurement"):
        withdraw(lead, other)
    assert not WithdrawnRecord.objects.exists()


def test_a_withdrawn_load_comes_out_and_in_again_with_the_records(tmp_path, settings):
    settings.MEDIA_ROOT = str(tmp_path / "files")
    (tmp_path / "files").mkdir()
    with transaction.atomic():
        lead = factories.person("lead")
        load(lead, [("H11a", "2020", "alive")])
        withdraw(lead, load(lead, [("H11b", "2020", "dead"), ("H11a", "2021", "dead")]))
        said = [(str(one), one.reason) for one in WithdrawnRecord.objects.all()]
        book_export(tmp_path / "first")
        transaction.set_rollback(True)
    assert not Tree._base_manager.exists() and len(said) == 2
    with transaction.atomic():
        book_load(tmp_path / "first")
        book_export(tmp_path / "second")
        assert folder_content(tmp_path / "second") == folder_content(tmp_path / "first")
        assert [(str(one), one.reason) for one in WithdrawnRecord.objects.all()] == said and is_clean()
        transaction.set_rollback(True)


def test_plants_of_an_own_lot_are_back_in_its_ledger(client, lead):
    lot = factories.stock_lot(actor=lead, plants=40, code="F1")
    planting = factories.planting(code="H", site=factories.site(code="H"), supply="own_stock")
    factories.trees(planting, lot, 2, actor=lead)
    before = figures(client, lead)
    parts = {kind: SEASONS[kind] for kind in ("tree", "round", "census")}
    content = "\n".join([HEAD, "H,F1,1,H11a,alive,2020", "H,F1,1,H11b,dead,2020"]).encode()
    found = combined_load(actor=lead, content=content, filename="trees.csv", spec={"parts": parts}).load
    with_it = figures(client, lead)
    assert before["balances"] == [("F1", 38)] and with_it["balances"] == [("F1", 36)]
    withdraw(lead, found)
    assert figures(client, lead) == before and is_clean()
    combined_load(actor=lead, content=content, filename="trees.csv", spec={"parts": parts})
    assert figures(client, lead) == with_it and is_clean()
