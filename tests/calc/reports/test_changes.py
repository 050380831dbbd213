"""What changed under a report: every round that differs is named, and nothing else."""

from plantings.calc.reports.changes import differences
from plantings.calc.survival.survival import Counts


def one(**counts):
    entries = [["L1", "test", counts.pop("lineage", "S1"), *Counts(**counts)]]
    return {"planting": "PL-1", "round": "2026", "sown": False, "entries": entries}


def test_equal_rounds_say_nothing():
    assert differences([one(planted=10, alive=8, dead=2)], [one(planted=10, alive=8, dead=2)]) == []


def test_a_new_round_and_one_that_went_are_named():
    later = one(planted=10, alive=7, dead=3) | {"round": "2027"}
    assert differences([one(planted=10, alive=8, dead=2)], [later]) == [
        "PL-1, census 2027: used now, not then; alive 7 of 10 assessed.",
        "PL-1, census 2026: used then, not now.",
    ]


def test_another_lineage_is_a_change():
    found = differences([one(planted=1, alive=1)], [one(planted=1, alive=1, lineage="S2")])
    assert found == ["PL-1, census 2026: lot L1: listed as S2, then as S1."]
