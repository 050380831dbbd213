"""What must always hold, over random histories (hypothesis)."""

import datetime
from collections import Counter

from django.core.exceptions import ValidationError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from plantings.calc.census.codes import status_code
from plantings.calc.census.fate import Fate, fate_history
from plantings.imports.census import CensusSheet
from plantings.imports.loading import sheet_load
from plantings.models import Observation, SurvivalTally
from plantings.selectors.census.recount import recount_differences
from plantings.services.census.observations import observation_correct
from registry import choices
from registry.imports.sheets.formats import export_bytes
from registry.models import LedgerEntry
from registry.services.lots.ledger import ledger_enter, ledger_reverse
from tests import factories
from tests.properties import examples

QUICK = settings(max_examples=examples(25), deadline=None, suppress_health_check=list(HealthCheck))
STATUS = st.sampled_from(["A", "AR", "D", "NF", "NL", "NV", "RM"])
FIRST_DAY = datetime.date(2020, 1, 1)
# what happens to plants from outside; nothing is harvested, raised or mixed into such a lot, and plants are not sown
KINDS = ["acquired", "received_back", *(kind for kind in choices.LEDGER_LOSSES if kind != "sown")]


class LedgerProperties(TestCase):
    @QUICK
    @given(
        st.lists(
            st.tuples(st.sampled_from(KINDS), st.integers(1, 50), st.integers(0, 30)),
            max_size=12,
        )
    )
    def test_an_entry_is_taken_exactly_when_no_date_goes_below_zero(self, wanted):
        actor, lot = factories.person(), factories.stock_lot()
        book = []
        for kind, quantity, offset in wanted:
            signed = -quantity if kind in choices.LEDGER_LOSSES else quantity
            trial = [*book, (offset, signed)]
            fits = all(sum(amount for day, amount in trial if day <= last) >= 0 for last in range(31))
            try:
                ledger_enter(actor=actor, lot=lot, kind=kind, quantity=quantity, on=FIRST_DAY + datetime.timedelta(offset))
                taken = True
            except ValidationError:
                taken = False
            assert taken == fits
            book = trial if taken else book
            lot.refresh_from_db()
            assert lot.balance == sum(amount for _day, amount in book) >= 0
        assert LedgerEntry.objects.filter(lot=lot).count() == len(book)

    @QUICK
    @given(st.integers(1, 100), st.integers(1, 100))
    def test_a_reversal_brings_the_balance_back_and_keeps_the_entry(self, first, second):
        actor, lot = factories.person(), factories.stock_lot()
        ledger_enter(actor=actor, lot=lot, kind="acquired", quantity=first, on=FIRST_DAY)
        entry = ledger_enter(actor=actor, lot=lot, kind="acquired", quantity=second, on=FIRST_DAY)
        ledger_reverse(actor=actor, entry=entry, reason="counted twice")
        lot.refresh_from_db()
        assert lot.balance == first
        assert LedgerEntry.objects.get(pk=entry.pk).quantity == second


def histories(trees, rounds):
    return st.lists(st.lists(st.one_of(st.none(), STATUS), min_size=rounds, max_size=rounds), min_size=trees, max_size=trees)


def record_histories(rows, actor):
    planting = factories.planting()
    lots = [factories.stock_lot(), factories.stock_lot()]
    half = len(rows) // 2
    trees = factories.trees(planting, lots[0], half, actor=actor, row=1) + factories.trees(
        planting, lots[1], len(rows) - half, actor=actor, row=2
    )
    rounds = [factories.census_round(planting, season + 1) for season in range(len(rows[0]))]
    for number, census_round in enumerate(rounds):
        seen = {tree: row[number] for tree, row in zip(trees, rows, strict=True) if row[number]}
        if seen:
            factories.observe(census_round, seen, actor=actor)
    return planting, trees, rounds


def recounted(planting, rounds):
    """Tallies calculated tree by tree from the definition in words, from the records that no other supersedes."""
    used = max((number for number, item in enumerate(rounds, start=1) if item.observations.exists()), default=0)
    counts = Counter()
    for tree in planting.trees.filter(replaces=None):
        statuses = []
        for census_round in rounds[:used]:
            record = tree.observations.filter(round=census_round, superseded_by=None).order_by("observed_on", "pk").last()
            statuses.append(status_code(record.status, record.cause) if record else 0)
        for census_round, fate in zip(rounds, fate_history(statuses), strict=False):
            counts[census_round.pk, tree.entry_id, fate] += 1
    return counts


def stored(planting):
    counts = Counter()
    names = {
        Fate.DEAD: "dead", Fate.PRESUMED_DEAD: "presumed_dead", Fate.NOT_FOUND: "not_found", Fate.NOT_LOCATED: "not_located",
        Fate.NOT_VISITED: "not_visited", Fate.REMOVED: "removed", Fate.REMOVED_EXCLUDED: "removed_excluded", Fate.ALIVE_RESPROUT: "resprout",
    }  # fmt: skip
    for tally in SurvivalTally.objects.filter(round__planting=planting):
        for fate, name in names.items():
            counts[tally.round_id, tally.entry_id, fate] += getattr(tally, name)
        counts[tally.round_id, tally.entry_id, Fate.ALIVE] += tally.alive - tally.resprout
    return +counts


class CensusProperties(TestCase):
    @QUICK
    @given(histories(trees=6, rounds=3), st.data())
    def test_tallies_equal_a_full_recount_after_any_records(self, rows, data):
        actor = factories.person()
        planting, _trees, rounds = record_histories(rows, actor)
        assert stored(planting) == recounted(planting, rounds)
        records = list(Observation.objects.filter(round__planting=planting))
        if records:
            record = data.draw(st.sampled_from(records))
            status = data.draw(STATUS)
            observation_correct(actor=actor, observation=record, reason="test", status=status, cause="thinned" if status == "RM" else "")
            assert stored(planting) == recounted(planting, rounds)
        assert recount_differences()[1] == []

    @QUICK
    @given(histories(trees=3, rounds=2), st.lists(STATUS, min_size=1, max_size=4))
    def test_a_record_once_received_is_never_lost_changed_or_doubled(self, rows, corrections):
        actor = factories.person()
        planting, _trees, _rounds = record_histories(rows, actor)
        records = Observation.objects.filter(round__planting=planting)
        for status in corrections:
            before = {row["id"]: row for row in records.values()}
            target = records.filter(superseded_by=None).first()
            if target is None:
                return
            observation_correct(actor=actor, observation=target, reason="again", status=status, cause="thinned" if status == "RM" else "")
            after = {row["id"]: row for row in records.values()}
            assert {key: after[key] for key in before} == before
            assert len(after) == len(before) + 1

    @QUICK
    @given(histories(trees=4, rounds=2))
    def test_loading_what_was_exported_changes_nothing(self, rows):
        actor = factories.person()
        planting, _trees, _rounds = record_histories(rows, actor)
        records = Observation.objects.filter(round__planting=planting)
        if not records.exists():
            return
        plan = sheet_load(actor=actor, kind="census", content=export_bytes(CensusSheet, records, "csv"), filename="x.csv")
        assert plan.counts["unchanged"] == records.count() == len(plan.items)
