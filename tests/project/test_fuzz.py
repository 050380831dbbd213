"""A few inputs of the fuzzer with fixed seeds, for every parser and page. Many: python -m tests.fuzz 50000 (--postgresql)."""

from random import Random

import pytest

from tests.fuzz.targets import Targets
from tests.fuzz.unexpected import Unexpected

pytestmark = pytest.mark.django_db(transaction=True)  # a backup begins a transaction of its own


def test_no_input_is_answered_with_a_fault_of_the_program():
    targets, tried = Targets(), {}
    for number in range(150):
        tried[targets.try_one(Random(f"suite.{number}"))] = number
    assert len(tried) >= 8  # nearly every target got its share


def test_a_fault_of_the_program_is_noticed(monkeypatch):
    targets = Targets()
    monkeypatch.setattr("tests.fuzz.targets.read_boundary", lambda *given, **named: {}["missing"])
    targets.all = {targets.shapes: 1}
    with pytest.raises(Unexpected, match="shapes: KeyError"):
        targets.try_one(Random("suite"))
