"""Answers about many records are held until a record changes, and never longer than they may be."""

from types import SimpleNamespace

import pytest

from registry.models import Lot
from registry.selectors.shared import held_answers
from registry.selectors.shared.held_answers import forget_answers, held_until_change, hold_answers
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
    lead = factories.person("lead")
    before = lots_held(lead)
    assert lots_held(lead) == before and len(calls) == 1
    factories.seed_lot(actor=lead, seeds=10)
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
