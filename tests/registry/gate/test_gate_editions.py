"""Answers that were stored earlier are decided again, each in the way of its edition."""

import json
from pathlib import Path

import pytest

from registry.compliance.gate.answers import EDITION
from registry.compliance.gate.codec import from_json
from registry.compliance.gate.decide import decide
from registry.models import (
    Determination,
)
from registry.selectors.gate.determinations import repeat_fault

pytestmark = pytest.mark.django_db


def stored_by_edition(number):
    """An answer as the gate of that edition stored it, in the words of its time."""
    return Determination(**json.loads((Path(__file__).parent / f"answer_of_edition_{number}.json").read_text(encoding="utf-8")))


def test_an_answer_of_an_earlier_edition_repeats():
    kept = stored_by_edition(1)
    (old,) = (one for one in kept.answer["findings"] if one["code"] == "R-WI")
    again = decide(from_json(kept.question), from_json(kept.facts))
    (now,) = (one for one in again.findings if one.code == "R-WI")
    assert old["next_step"] != now.next_step and old["near"][0]["paper"] != now.near[0].paper
    assert [repeat_fault(stored_by_edition(number)) for number in range(1, EDITION)] == [""] * (EDITION - 1)


@pytest.mark.parametrize("number", range(1, EDITION))
def test_answers_of_every_earlier_edition_are_repeated(number):
    assert repeat_fault(stored_by_edition(number)) == ""


def test_an_answer_of_this_edition_repeats_word_for_word():
    """Where this fails, the gate speaks or decides otherwise: raise `answers.EDITION` and store such an answer of the new edition here."""
    kept = stored_by_edition(EDITION)
    assert kept.answer["edition"] == EDITION and repeat_fault(kept) == ""


@pytest.mark.parametrize(
    ("finding", "changes"),
    [
        ("R-WI", {"status": "met"}),
        ("R-WI", {"severity": "advisory"}),
        ("R-WI", {"unverified": ""}),
        ("R-WI", {"lots": ["S21"]}),
        ("R-WI", {"met_by": []}),
        ("R-WI", {"near_left_off": 2}),
        ("R-LIC", {"met_by": ["P-SEED"]}),
        ("R-NOTE", {"near": []}),
        ("landowner", {"near": [{"paper": "A-1", "type": "landowner", "title": "", "reasons": [{"code": "document", "words": ""}]}]}),
        ("landowner", {"near": [{"paper": "A-2", "type": "landowner", "title": "", "reasons": [{"code": "not_in_force", "words": ""}]}]}),
    ],
)
def test_a_changed_decision_of_an_earlier_edition_shows(finding, changes):
    kept = stored_by_edition(1)
    next(one for one in kept.answer["findings"] if one["code"] == finding).update(changes)
    assert "but for other reasons" in repeat_fault(kept)


def test_a_changed_draw_or_verdict_of_an_earlier_edition_shows():
    kept = stored_by_edition(1)
    kept.answer["draws"][0]["quantity"] = 299
    assert "but for other reasons" in repeat_fault(kept)
    kept = stored_by_edition(1)
    kept.answer["verdict"] = "check"
    assert "the gate now says “stop”, and “check” is stored" in repeat_fault(kept)


def test_a_changed_word_shows_in_an_answer_of_this_edition():
    kept = stored_by_edition(EDITION)
    kept.answer["findings"][0]["next_step"] = "Go on."
    assert "but for other reasons" in repeat_fault(kept)
