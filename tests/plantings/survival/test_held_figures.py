"""Figures that a process holds are those that a process that has just started works out, after every write."""

import random
import subprocess
import sys
from types import SimpleNamespace

import numpy as np
import pytest
from django.db import connection
from django.db.models import F

from plantings.calc.census.measurements import MEASUREMENTS
from plantings.calc.lifetimes import lineage_lives
from plantings.calc.lineages import compare
from plantings.calc.survival import rows_by_label
from plantings.calc.survival.census_choice import AGE, LATEST, CensusChoice
from plantings.models import CensusRound, Observation, Planting, PlotCount, Site, SurvivalTally, Tree
from plantings.selectors.overview import round_lines, today
from plantings.selectors.plantings import round_parts
from plantings.selectors.sites.map_points import map_points
from plantings.selectors.survival import rounds
from plantings.selectors.survival.cause_years import causes_over_years
from plantings.selectors.survival.causes import survival_causes
from plantings.selectors.survival.curves import survival_curve
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.growth import growth_table
from plantings.selectors.survival.lifetimes import lineage_lifetimes, site_lifetimes
from plantings.selectors.survival.lineages import lineage_comparison
from plantings.selectors.survival.measured import measured_table
from plantings.selectors.survival.one_lineage import OneLineage
from plantings.selectors.survival.rounds import rounds_in_scope
from plantings.selectors.survival.survival import survival_rows
from plantings.selectors.survival.tallies import TallyRows
from plantings.services.census.observations import observation_correct
from plantings.services.census.plot_counts import plot_count_correct
from plantings.services.census.reviews import records_review
from plantings.services.census.second import second_draw_make
from plantings.services.census.tallies import tallies_correct
from plantings.services.plantings import planting_save, round_save
from plantings.services.sites import site_save
from plantings.services.tree_lists.moves import tree_move
from plantings.services.tree_lists.retags import tree_retag
from plantings.services.trees import counted_plot_add, tree_replace
from registry.choices import ProgrammeKey
from registry.models import Lot, Partner, Taxon
from registry.selectors.shared import held_answers
from registry.selectors.shared.trail_concerns import Concern, concern_of
from registry.services.people.programme import programme_setting_save
from registry.services.shared.records import record_save
from tests import factories
from tests.declared_concerns import NO_FIGURE_RESTS_ON, columns_read, record_types
from tests.places import PROJECT
from tests.plantings.loads import row_loads
from tests.plantings.survival.survival_examples import small_programme

pytestmark = pytest.mark.django_db
HEIGHT = next(item for item in MEASUREMENTS if item.field == "height_cm")


# a program of its own that corrects a record
OTHER_PROCESS = """
import os, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "registry.settings"
import django
django.setup()
from django.db import connection
connection.settings_dict["NAME"] = sys.argv[1]
from plantings.models import Observation
from plantings.services.census.observations import observation_correct
from registry.models import Person
record = Observation.objects.get(pk=sys.argv[2])
observation_correct(actor=Person.objects.get(pk=sys.argv[3]), observation=record, reason="Looked again.", status="D", cause="frost", height_cm=None)
"""


@pytest.fixture
def people(monkeypatch):
    """The people of the small programme, in a process that holds figures; the test's own transaction does not count."""
    found = small_programme("Falls")
    monkeypatch.setattr(held_answers, "connection", SimpleNamespace(in_atomic_block=False))
    monkeypatch.setattr(rounds, "MANY_ROUNDS", 1)
    monkeypatch.setattr(round_lines, "ROUNDS_MANY", 0)
    held_answers.forget_answers()
    yield found
    held_answers.forget_answers()


def figures(user):
    """{what: figures} of every page of results, the map and Today, as values that can be compared."""
    latest, everything = CensusChoice(LATEST), SurvivalFilter()
    found = {}
    for filters in (everything, SurvivalFilter(site="MINE", open_rounds=True)):
        for by, level in ((("site", "lineage"), "lot"), (("lineage",), "source")):
            found["table", filters, by] = survival_rows(user, by, level, latest, filters)
            curve = survival_curve(user, by, level, filters)
            found["curve", filters, by] = [*curve.rows], curve.seasons, curve.unread_of
            found["causes", filters, by] = survival_causes(user, by, level, latest, filters)
    found["default"] = survival_rows(user)
    found["heat"] = survival_rows(user, heat_pages=(1, 1))
    found["cause years"] = causes_over_years(user, "lot", everything)
    found["lineages"] = lineage_comparison(user, "lot", latest, everything)
    found["lives"] = lineage_lifetimes(user, "lot", everything), lineage_lifetimes(user, "lot", everything, sown=True)
    sites = site_lifetimes(user, "lot", everything)
    found["lives by site"] = sites.plantings, sites.lives_at(sites.sites)
    found["growth"] = growth_table(user, HEIGHT, "lot", everything)
    found["measured"] = measured_table(user, HEIGHT, ("site", "lineage"), "lot", latest, everything)
    one = OneLineage(user, "lot", "LOT-A")
    found["lineage"] = one.ages, one.sites, one.site_codes, one.causes, one.growth
    found["map"] = map_points(user), map_points(user, CensusChoice(AGE, 1))
    found["moments"] = [rounds_in_scope(user, everything).numbers(kind) for kind in ("age", "season", "visit")]
    found["today"] = today.today_lines(user, factories.day(2026))
    return found


def cold_figures(user):
    """The same in a process that has just started, without a loss of what this one holds."""
    warm, held_answers._held = held_answers._held, held_answers._Held()
    remembered = [(store, dict(store)) for store in (compare._ROWS, lineage_lives._LIVES, rows_by_label._CURVE_ROWS, round_parts._choices)]
    try:
        for store, _found in remembered:
            store.clear()
        return figures(user)
    finally:
        held_answers._held = warm
        for store, found in remembered:
            store.clear()
            store.update(found)


class Writes:
    """One write of a service that changes figures, by name; records are drawn by chance."""

    def __init__(self, actor, seed):
        self.actor, self.chance = actor, random.Random(seed)

    def one_of(self, rows):
        return self.chance.choice(list(rows.order_by("pk")))

    def record(self):
        when = self.one_of(CensusRound.objects.filter(planting__trees__isnull=False).distinct())
        trees = self.chance.sample(list(when.planting.trees.filter(replaces__isnull=True).order_by("pk")), 3)
        statuses = {tree: self.chance.choice(["A", "D", "NF", "SU", "RM"]) for tree in trees}
        for tree, status in statuses.items():
            factories.observe(when, {tree: status}, actor=self.actor, **({"height_cm": 150} if status == "A" else {}))

    def correct(self):
        record = self.one_of(Observation.objects.filter(superseded_by__isnull=True))
        dead = {"status": "D", "cause": "frost", "height_cm": None, "canker_class": None}
        changes = dead if record.status != "D" else {"status": "A", "cause": "", "height_cm": self.chance.randint(100, 200)}
        observation_correct(actor=self.actor, observation=record, reason="Looked again.", **changes)

    def _correct_to(self, record, status):
        values = {"cause": "frost" if status == "D" else "", "height_cm": None, "canker_class": None}
        observation_correct(actor=self.actor, observation=record, reason="Looked again.", status=status, **values)

    def count(self):
        count = self.one_of(PlotCount.objects.filter(superseded_by__isnull=True))
        plot_count_correct(actor=self.actor, count=count, reason="Counted again.", alive=self.chance.randint(0, 20), dead=0)

    def review(self):
        record = self.one_of(Observation.objects.filter(superseded_by__isnull=True))
        state = self.chance.choice(["accepted", "rejected", "asked_back"])
        records_review(actor=self.actor, state=state, observations=[record], reason="Read.")

    def round(self):
        planting = self.one_of(Planting.objects.filter(rounds__isnull=False).distinct())
        factories.census_round(planting, planting.rounds.order_by("-growing_seasons").first().growing_seasons + 1)
        when = planting.rounds.order_by("-growing_seasons").first()
        when.label = f"later {when.pk}"
        round_save(actor=self.actor, census_round=when)

    def plant(self):
        planting = self.one_of(Planting.objects.filter(trees__isnull=False).distinct())
        factories.trees(planting, Lot.objects.get(code="LOT-A"), 2, actor=self.actor, row=factories.number(), tag=f"N{factories.number()}-")

    def plot(self):
        planting, lot = self.one_of(Planting.objects.all()), self.one_of(Lot.objects.filter(code__in=["LOT-A", "NATIVE"]))
        counted_plot_add(actor=self.actor, planting=planting, code=f"Q{factories.number()}", lot=lot, planted_count=10)

    def replace(self):
        tree = self.one_of(Tree.objects.filter(replaced_by__isnull=True, replaces__isnull=True))
        tree_replace(actor=self.actor, tree=tree, tag=f"R{factories.number()}", planted_on=factories.day(2021, 4, 20))

    def move(self):
        tree = self.one_of(Tree.objects.filter(replaces__isnull=True))
        tree_move(actor=self.actor, tree=tree, reason="Read wrong.", position=500 + factories.number())

    def site(self):
        site = self.one_of(Site.objects.all())
        site.name = f"Renamed {factories.number()}"
        site_save(actor=self.actor, site=site)

    def planting(self):
        planting = self.one_of(Planting.objects.all())
        planting.site = self.one_of(Site.objects.all())
        planting_save(actor=self.actor, planting=planting)

    def lot(self):
        lot = Lot.objects.get(code="LOT-A")
        lot.declared_source = f"=Heron {factories.number()}"
        record_save(actor=self.actor, obj=lot)

    def owner(self):
        site = self.one_of(Site.objects.all())
        site.partner = self.one_of(Partner.objects.all())
        site_save(actor=self.actor, site=site)

    def partner(self):
        partner = self.one_of(Partner.objects.all())
        partner.map_privacy = self.chance.choice(["general", "hidden"])
        record_save(actor=self.actor, obj=partner)

    def taxon(self):
        taxon = self.one_of(Taxon.objects.filter(lots__isnull=False).distinct())
        taxon.role = {"native": "other", "other": "native"}.get(taxon.role, taxon.role)
        record_save(actor=self.actor, obj=taxon)

    def tag(self):
        tree = self.one_of(Tree.objects.all())
        tree_retag(actor=self.actor, tree=tree, tag=f"T{factories.number()}", on=factories.day(2022), reason="Lost.")

    def draw(self):
        when = self.one_of(CensusRound.objects.filter(observations__isnull=False).distinct())
        second_draw_make(actor=self.actor, census_round=when, percent=50, measured_by=f"Somebody {factories.number()}")

    def trade(self):
        """What changes no figure: a paper, a shipment with its lines, seeds in the ledger."""
        lot = factories.seed_lot(actor=self.actor, seeds=50)
        factories.authorization(actor=self.actor)
        factories.shipment(actor=self.actor, lots=[(lot, "seed", 5)])

    def withdraw_census(self):
        """A sheet of records, read with the figures, and withdrawn."""
        when = self.one_of(CensusRound.objects.filter(planting__trees__isnull=False).distinct())
        trees = self.chance.sample(list(when.planting.trees.filter(replaces__isnull=True, replaced_by__isnull=True).order_by("pk")), 3)
        about = {"planting": when.planting.code, "round": when.label, "observed_on": when.opens_on.isoformat()}
        self._withdraw("census", *(about | {"tag": tree.tag, "status": self.chance.choice("AD")} for tree in trees))

    def withdraw_trees(self):
        """The same of a list of trees, so that a planting has more of them for a while."""
        planting = self.one_of(Planting.objects.filter(trees__isnull=False).distinct())
        row = factories.number()
        about = {"planting": planting.code, "lot": "LOT-A", "role": "test", "row": str(row)}
        self._withdraw("tree", *(about | {"position": str(place), "tag": f"W{row}-{place}"} for place in (1, 2)))

    def _withdraw(self, kind, *rows):
        found = row_loads.load(self.actor, kind, *rows)
        before = figures(self.actor)
        row_loads.withdraw(self.actor, found)
        assert figures(self.actor) != before

    def setting(self):
        key, value = self.chance.choice(
            [
                (ProgrammeKey.COMPLETE_PERCENT, str(self.chance.randint(10, 100))),
                (ProgrammeKey.UNREAD_COUNT, self.chance.choice(["yes", "no"])),
            ]
        )
        programme_setting_save(actor=self.actor, key=key, value=value, owner=self.actor, set_on=factories.day(2026), basis="Example.")


def test_figures_rest_on_no_record_that_is_declared_to_concern_none(people, monkeypatch):
    """Of Today the lines that are held: its other lines are read each time."""
    read, lines = set(), (round_lines.round_lines, round_lines.flower_lines, round_lines.conflict_lines)
    monkeypatch.setattr(today, "today_lines", lambda user, on: [find(user, on, None) for find in lines])

    def note(execute, sql, *given):
        read.update(columns_read(sql))
        return execute(sql, *given)

    with connection.execute_wrapper(note):
        for reader in ("lead", "landowner"):
            figures(people[reader])
    tables = {table for table, _column in read} - {"registry_auditentry"}  # which tells what changed
    assert {"plantings_survivaltally", "plantings_site", "registry_lot", "registry_taxon", "registry_programmesetting"} <= tables
    assert {table for table in tables & record_types().keys() if concern_of("", record_types()[table]) == Concern.NOTHING} == set()
    assert {(table, column) for table, columns in NO_FIGURE_RESTS_ON.items() for column in columns} & read == set()


WRITES = [name for name in vars(Writes) if not name.startswith("_") and name != "one_of"]


@pytest.mark.django_db(transaction=True)
def test_a_write_of_another_process_is_seen(people):
    lead, record = people["lead"], Observation.objects.filter(status="A", superseded_by__isnull=True).last()
    before = figures(lead)
    arguments = [str(connection.settings_dict["NAME"]), str(record.pk), str(lead.pk)]
    ended = subprocess.run([sys.executable, "-c", OTHER_PROCESS, *arguments], cwd=PROJECT, capture_output=True, text=True, timeout=300)
    assert (ended.returncode, ended.stderr) == (0, "")
    warm = figures(lead)
    assert warm == cold_figures(lead) and warm["causes", SurvivalFilter(), ("lineage",)] != before["causes", SurvivalFilter(), ("lineage",)]


@pytest.mark.parametrize("seed", range(2))
def test_held_figures_are_those_of_a_new_process_after_any_write(people, seed):
    writes = Writes(people["lead"], seed)
    readers = people["lead"], people["landowner"]
    for reader in readers:
        assert figures(reader) == cold_figures(reader)
    # every write once, those of a census season twice
    for name in writes.chance.sample([*WRITES, "record", "correct", "count", "review"], len(WRITES) + 4):
        getattr(writes, name)()
        for reader in readers if name in {"record", "site", "owner"} else readers[:1]:
            warm, cold = figures(reader), cold_figures(reader)
            assert {what: warm[what] for what in warm if warm[what] != cold[what]} == {}, (name, reader.role)


def test_labels_are_made_once_while_counts_alone_change(people):
    lead, latest = people["lead"], CensusChoice(LATEST)

    def table():
        return survival_rows(lead, ("lineage",), "lot", latest, SurvivalFilter(open_rounds=True))

    first = table().rows
    records = Observation.objects.filter(round__growing_seasons=2, superseded_by__isnull=True, tree__entry__role="test", status="A")
    one, *others = records.order_by("pk")
    Writes(lead, 0)._correct_to(one, "D")
    second = table().rows
    assert second[0].alive == first[0].alive - 1 and second._tallies.frame is first._tallies.frame
    # the round is thinly visited from here on, with tallies of the same lots and rounds
    for record in others:
        Writes(lead, 0)._correct_to(record, "NL")
    third = table().rows
    assert (second[0].complete, third[0].complete) == (True, False) and third._tallies.frame is not second._tallies.frame
    # lots are looked up again
    Writes(lead, 0).lot()
    assert table().rows._tallies.frame is not third._tallies.frame
    assert figures(lead) == cold_figures(lead)


def test_labels_of_a_choice_of_lineages_are_its_own(people):
    chosen = [SurvivalFilter(within=within) for within in (None, ("lot", "LOT-A"), ("lot", "SEED"))]
    tables = [survival_rows(people["lead"], ("lineage",), "source", CensusChoice(LATEST), filters) for filters in chosen]
    every, planted, sown = ([row for row in table.rows if row.role == "test"] for table in tables)
    assert len(every) == 2 and {row.sown for row in planted} == {False} and {row.sown for row in sown} == {True}


@pytest.mark.parametrize("again", [[(1, 7, 0, 9), (2, 8, 0, 5)], [(1, 7, 0, 9)], [(1, 7, 0, 9), (2, 7, 1, 5)], []])
def test_counts_are_put_in_only_for_the_same_tallies(again):
    parts = {10: np.array([(1, 7, 0, 3), (2, 7, 0, 4)], dtype=np.int32), 20: np.array([(5, 7, 0, 6)], dtype=np.int32)}
    held, again = TallyRows.of_all(parts, 4), np.array(again, dtype=np.int32).reshape(-1, 4)
    assert held.put_in({10: parts[10]}, {10: again}) is None and held.put_in({}, {30: again}) is None
    again = parts[10] + np.array([0, 0, 0, 1], dtype=np.int32)
    found = held.put_in({10: parts[10]}, {10: again})
    assert found.keys is held.keys and found.counts.tolist() == [[4], [5], [6]]
    assert held.counts.tolist() == [[3], [4], [6]]  # whoever holds the earlier ones has them as they were


def test_a_recount_that_corrects_tallies_ends_what_is_held(people):
    user = people["lead"]
    right = figures(user)
    SurvivalTally.objects.update(planted=F("planted") + 1, dead=F("dead") + 1)
    assert figures(user) == right  # nobody wrote through the program, so the figures are held
    held_answers.forget_answers()
    wrong = figures(user)
    assert wrong != right
    assert tallies_correct(actor=user) and figures(user) == right
