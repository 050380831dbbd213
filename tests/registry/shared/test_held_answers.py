"""Answers about many records are held until a record changes, and never longer than they may be."""

from types import SimpleNamespace

import pytest

from registry.models import Lot
from registry.selectors.shared import held_answers, trail_concerns
from registry.selectors.shared.held_answers import forget_answers, held_beside_parts, held_by_part, held_until_change, hold_answers
from registry.selectors.shared.trail_concerns import Concern
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.shared.records import record_save
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def asked(monkeypatch):
    """A selector that notes who asked, in a process that holds answers; the test's own transaction does not count."""
    calls = []

    @held_until_change
    def lots_held(user, *, closed=False):
        calls.append(user)
        return Lot.objects.count()

    monkeypatch.setattr(held_answers, "connection", SimpleNamespace(in_atomic_block=False))
    hold_answers()
    yield lots_held, calls
    forget_answers()


def test_an_answer_is_worked_out_again_after_a_write(asked):
    lots_held, calls = asked
    lead, lot = factories.person("lead"), factories.seed_lot()
    before = lots_held(lead)
    assert lots_held(lead) == before and len(calls) == 1
    factories.seed_lot()
    lot.note = "Two bags."
    record_save(actor=lead, obj=lot)
    assert lots_held(lead) == before + 1 and len(calls) == 2


def test_each_person_and_each_choice_has_its_own_answer(asked):
    lots_held, calls = asked
    lead, crew = factories.person("lead"), factories.person("volunteer")
    for _turn in range(2):
        lots_held(lead), lots_held(crew), lots_held(lead, closed=True)
    assert calls == [lead, crew, lead]


def test_an_answer_ends_after_some_minutes_and_the_oldest_make_room(asked, monkeypatch):
    lots_held, calls = asked
    lead = factories.person("lead")
    lots_held(lead)
    monkeypatch.setattr(held_answers, "SECONDS_MOST", -1)
    lots_held(lead)
    assert len(calls) == 2
    monkeypatch.setattr(held_answers, "SECONDS_MOST", 600)
    monkeypatch.setattr(held_answers, "ANSWERS_MOST", 1)
    lots_held(lead, closed=True), lots_held(lead)
    assert len(calls) == 4


def test_nothing_is_held_in_a_transaction(asked, monkeypatch):
    lots_held, calls = asked
    monkeypatch.setattr(held_answers, "connection", SimpleNamespace(in_atomic_block=True))
    lead = factories.person("lead")
    lots_held(lead), lots_held(lead)
    assert len(calls) == 2


@pytest.fixture
def by_part(asked, monkeypatch):
    """A reading by lot that notes which parts it was asked for, one beside all parts, and an entry of the audit trail of any verb; a part
    is a lot here."""
    calls, actor = [], factories.person("manager")
    declared = {"lot.of_one_part": Concern.PARTS, "lot.of_no_figure": Concern.NOTHING, "lot.of_answers": Concern.ANSWERS}
    monkeypatch.setattr(trail_concerns, "_concerns", trail_concerns._concerns | declared)
    there = Lot.objects.values_list("pk", "pk")
    monkeypatch.setattr(trail_concerns, "_read_parts", [lambda _type, keys: {lot: {part} for lot, part in there.filter(pk__in=keys)}])

    @held_by_part(Lot)
    def codes(user, parts):
        calls.append(parts)
        lots = Lot.objects.all() if parts is None else Lot.objects.filter(pk__in=parts)
        return dict(lots.values_list("pk", "code"))

    @held_beside_parts
    def beside():
        calls.append("beside")

    @write
    def entry(verb, record, **named):
        audit_record(actor=actor, verb=verb, obj=record, **named)

    return codes, beside, entry, calls


def test_a_part_that_an_entry_concerns_is_read_again_alone(by_part):
    codes, beside, entry, calls = by_part
    one, two = factories.seed_lot(), factories.seed_lot()
    lead, coordinator = factories.person("lead"), factories.person("coordinator")
    codes(lead), beside(), codes(coordinator), calls.clear()
    Lot.objects.filter(pk=one.pk).update(code="OTHER")
    entry("lot.of_one_part", one)
    assert codes(lead) == {one.pk: "OTHER", two.pk: two.code}
    beside()
    assert calls == [{one.pk}]


def test_an_entry_that_concerns_nothing_ends_nothing(by_part, asked):
    codes, beside, entry, calls = by_part
    lots_held, answers = asked
    lot, lead = factories.seed_lot(), factories.person("lead")
    codes(lead), beside(), lots_held(lead), calls.clear()
    entry("lot.of_no_figure", lot)
    codes(lead), beside(), lots_held(lead)
    assert calls == [] and len(answers) == 1


def test_an_entry_about_a_lot_ends_what_is_held_of_lots(by_part, asked):
    codes, beside, entry, calls = by_part
    lots_held, answers = asked
    lot, lead = factories.seed_lot(), factories.person("lead")
    codes(lead), beside(), lots_held(lead), calls.clear()
    entry("lot.changed", lot)
    codes(lead), beside(), lots_held(lead)
    assert calls == ["beside"] and len(answers) == 2


def test_an_entry_about_answers_ends_them_alone(by_part, asked):
    codes, beside, entry, calls = by_part
    lots_held, answers = asked
    lot, lead = factories.seed_lot(), factories.person("lead")
    codes(lead), beside(), lots_held(lead), calls.clear()
    entry("lot.of_answers", lot)
    codes(lead), beside(), lots_held(lead)
    assert calls == [] and len(answers) == 2


def test_an_entry_that_is_not_declared_ends_everything(by_part, monkeypatch):
    codes, beside, entry, calls = by_part
    lot, lead = factories.seed_lot(), factories.person("lead")
    monkeypatch.delitem(trail_concerns._concerns, "lot")
    codes(lead), beside(), calls.clear()
    entry("lot.a_verb_nobody_named", lot)
    codes(lead), beside()
    assert calls == [None, "beside"]


def test_a_record_that_moved_or_is_gone_ends_everything(by_part):
    codes, _beside, entry, calls = by_part
    lot, lead = factories.seed_lot(), factories.person("lead")
    codes(lead), calls.clear()
    entry("lot.of_one_part", lot, changes={"planting": ["P1", "P2"]})
    codes(lead)
    entry("lot.of_one_part", lot)
    Lot.objects.filter(pk=lot.pk).delete()
    codes(lead)
    assert calls == [None, None]


def test_another_chain_and_very_many_entries_end_everything(by_part, monkeypatch):
    codes, _beside, entry, calls = by_part
    lot, lead = factories.seed_lot(), factories.person("lead")
    codes(lead), calls.clear()
    held_answers._held.seen = (held_answers._held.seen[0], "as of a backup that was restored")
    entry("lot.of_one_part", lot)
    codes(lead)
    monkeypatch.setattr(held_answers, "ENTRIES_MOST", 1)
    entry("lot.of_one_part", lot), entry("lot.of_one_part", lot)
    codes(lead)
    assert calls == [None, None]


def test_whoever_sees_other_rows_has_parts_of_their_own(by_part):
    codes, _beside, _entry, calls = by_part
    factories.seed_lot()
    lead, coordinator, landowner = (factories.person(role) for role in ("lead", "coordinator", "landowner"))
    codes(lead), codes(coordinator), codes(landowner)
    assert calls == [None, None]
