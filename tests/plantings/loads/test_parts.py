"""A long file in parts does what the same file does as a whole, which gives every expected value; and it stays all or nothing."""

import pytest

from plantings.imports.loading import RecordsChanged, plan_file, sheet_load, upload_load
from plantings.models import Observation, SurvivalTally, Tree
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.census.verify import check_census
from plantings.services.census.observations import CensusRow, observations_record
from registry.calc.shared.screen import amount_words
from registry.calc.sheets.key_ranges import key_ranges
from registry.imports.loads import parts
from registry.imports.sheets.plan import ReasonMissing, SheetRefused
from registry.models import AuditEntry, Load
from registry.services.sheets.uploads import upload_keep
from tests import factories

pytestmark = pytest.mark.django_db
HEAD = "Planting,Season,Tag,Status,Observed on,Height (cm),Observer\n"
PLANTINGS, TREES = 4, 3
VALUES = ("round__planting__code", "tree__tag", "status", "observed_on", "height_cm", "observer", "supersedes__height_cm", "reason")
WRONG = {
    "a bad status": "P1,first,1,XX,2019-09-12,,",
    "an unknown planting": "P9,first,1,A,2019-09-12,,",
    "an unknown round": "P2,second,1,A,2019-09-12,,",
    "an unknown tag": "P2,first,99,A,2019-09-12,,",
    "a blank key": "P3,first,,A,2019-09-12,,",
    "a day to come": "P3,first,1,A,2199-09-12,,",
    "a contradiction": "P0,first,2,D,2019-09-12,,",
}


@pytest.fixture
def lead():
    lead = factories.person("lead")
    for number in range(PLANTINGS):
        planting = factories.planting(code=f"P{number}")
        factories.trees(planting, count=TREES, actor=lead)
        for place, tree in enumerate(planting.trees.order_by("pk"), start=1):
            Tree.objects.filter(pk=tree.pk).update(tag=str(place))
        factories.census_round(planting, label="first")
    return lead


@pytest.fixture
def in_parts(monkeypatch):
    """What makes files of more than four rows go in parts."""
    return lambda: monkeypatch.setattr(parts, "PART_ROWS", 4)


def rows(height="40"):
    """A row for each tree; those of a planting do not follow each other."""
    return [f"P{planting},first,{tree},A,2019-09-12,{height},R. Counter" for tree in range(1, TREES + 1) for planting in range(PLANTINGS)]


def told(lines):
    plan = plan_file("census", (HEAD + "\n".join(lines)).encode(), "c.csv", {})[2]
    problems = sorted(map(str, plan.problems)), sorted(map(str, plan.warnings))
    return plan.in_parts, plan.counts, problems, plan.wrong_rows, plan.repeats, plan.notes, plan.mapped, plan.not_taken, plan.rows


def load(lead, lines, **given):
    return sheet_load(actor=lead, kind="census", content=(HEAD + "\n".join(lines)).encode(), filename="c.csv", **given)


def stored():
    return sorted(Observation.objects.values_list(*VALUES), key=str)


def test_parts_say_of_wrong_rows_what_the_whole_says(lead, in_parts):
    lines = [*rows(), *WRONG.values(), rows()[0], "", "P1,first,1,A,2019-09-12,6200,"]
    whole = told(lines)
    in_parts()
    assert [whole[0], *told(lines)] == [False, True, *whole[1:]]
    assert whole[1]["wrong"] == 8 and whole[1]["repeated"] == 1


def test_parts_store_what_the_whole_stores(lead, in_parts):
    in_parts()
    plan = load(lead, rows())
    assert plan.in_parts and plan.counts["new"] == PLANTINGS * TREES
    assert stored() == sorted(
        [
            (f"P{p}", str(t), "A", factories.day(2019, 9, 12), 40.0, "R. Counter", None, "")
            for p in range(PLANTINGS)
            for t in range(1, TREES + 1)
        ],
        key=str,
    )
    entries = AuditEntry.objects.filter(verb="planting.census_recorded").order_by("pk")
    assert [entry.changes["observations"] for entry in entries] == [[None, TREES]] * PLANTINGS
    assert (recount_differences()[1], Load.objects.count()) == ([], 1)
    assert Load.objects.get().stored == {"observation": key_ranges(Observation.objects.values_list("pk", flat=True))}
    assert check_census().faults == []
    assert load(lead, rows()).counts["unchanged"] == PLANTINGS * TREES


@pytest.mark.parametrize("what", WRONG)
def test_one_wrong_row_keeps_every_part_out(lead, in_parts, what):
    in_parts()
    with pytest.raises(SheetRefused) as refused:
        load(lead, [*rows(), WRONG[what]])
    assert refused.value.plan.counts["wrong"] == 1
    assert not Observation.objects.exists() and not Load.objects.exists()
    assert not SurvivalTally.objects.exists() and not AuditEntry.objects.filter(verb="planting.census_recorded").exists()


def test_changes_in_parts_need_a_reason_that_counts_them_all(lead, in_parts):
    in_parts()
    load(lead, rows())
    with pytest.raises(ReasonMissing, match=amount_words(PLANTINGS * TREES, "rows")):
        load(lead, rows("50"))
    assert Observation.objects.count() == PLANTINGS * TREES
    plan = load(lead, rows("50"), reason="Read again")
    assert plan.counts["changed"] == PLANTINGS * TREES
    assert {row[4:] for row in stored() if row[-1]} == {(50.0, "R. Counter", 40.0, "Read again")}
    assert recount_differences()[1] == []


def test_what_changed_since_the_preview_keeps_every_part_out(lead, in_parts):
    in_parts()
    upload = upload_keep(actor=lead, kind="census", content=(HEAD + "\n".join(rows())).encode(), filename="c.csv")
    first = Tree.objects.get(tag="1", planting__code="P3")
    observations_record(
        actor=lead, rows=[CensusRow(first.planting.rounds.get().pk, first.pk, status="A", observed_on=factories.day(2019, 9, 12))]
    )
    with pytest.raises(RecordsChanged):
        upload_load(actor=lead, upload=upload, shown="12 new", reason="Read again")
    assert Observation.objects.count() == 1


def test_a_file_with_identifiers_is_read_as_a_whole(lead, in_parts):
    in_parts()
    head, uuid = HEAD.strip() + ",Record identifier\n", "6f0f6b1e-3a0b-4d0c-9a63-6a1f0e8f2c11"
    lines = [f"{line},{uuid if number in (0, 11) else ''}" for number, line in enumerate(rows())]
    plan = plan_file("census", (head + "\n".join(lines)).encode(), "c.csv", {})[2]
    assert not plan.in_parts
    assert [str(problem) for problem in plan.problems] == [
        f"row 13, column 'Record identifier': '{uuid}' is in row 2 already; remove one of the two rows"
    ]
