"""A blind second measurement: the draw, who may be the second person, what stays hidden, what it never touches, the result."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.utils.translation import override

from plantings.calc.arrival.draw import walk_draw
from plantings.imports.loading import sheet_load
from plantings.models import Observation, SecondDraw, SecondMeasurement, SurvivalTally, Tree
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.census.second import agreement_words, draw_lines, is_handed_in, quality_of
from plantings.services.census.observations import CensusRefused, CensusRow, observation_correct
from plantings.services.census.second import second_draw_close, second_draw_make, second_measurement_correct, second_measurements_record
from registry.models import AuditEntry
from registry.selectors.audit.verify import verify_book
from tests import factories

pytestmark = pytest.mark.django_db
FIRST, SECOND = "Una Counter", "Bea Again"


@pytest.fixture
def here():
    """Twenty trees of 100 to 119 cm, recorded by one volunteer; five of them drawn for another volunteer of the crew."""
    first, second = (factories.person("volunteer", first_name=name.split()[0], last_name=name.split()[1]) for name in (FIRST, SECOND))
    planting = factories.planting(crew=[first, second])
    trees = factories.trees(planting, count=20)
    census_round = factories.census_round(planting)
    heights = {tree: 100 + number for number, tree in enumerate(trees)}
    factories.observe(census_round, dict.fromkeys(trees, "A"), actor=first, observer=FIRST, height_cm=heights)
    draw = second_draw_make(actor=factories.person(), census_round=census_round, count=5, measurer=second, seed="5f1c")
    return draw, first, second


def measured(draw, change=0, *, lines=None, **fields):
    """Rows for the drawn trees: alive, `change` cm taller than the first record."""
    lines = draw_lines(draw) if lines is None else lines
    given = {"status": "A", "observer": SECOND, "observed_on": draw.round.opens_on + datetime.timedelta(days=3)} | fields
    heights = [line.first.height_cm + change if line.first.height_cm else None for line in lines]
    return [CensusRow(draw.round_id, line.tree.pk, **{"height_cm": cm} | given) for line, cm in zip(lines, heights, strict=True)]


def test_the_stored_draw_can_be_repeated(here):
    draw, _first, _second = here
    stored = SecondDraw.objects.get()
    tags = [line.tree.tag for line in draw_lines(stored)]
    assert tags == [one.tag for one in walk_draw(stored.candidates, stored.size, stored.seed) if one.drawn]
    assert (len(tags), stored.size, len(stored.candidates)) == (5, 5, 20)
    entry = AuditEntry.objects.get(verb="seconddraw.sample_drawn")
    assert entry.changes["seed"] == [None, "5f1c"]


def test_a_tree_is_drawn_once_in_a_round_and_never_for_its_own_observer(here):
    draw, first, _second = here
    lead = draw.entered_by
    with pytest.raises(ValidationError, match="Nothing can be measured again"):
        second_draw_make(actor=lead, census_round=draw.round, count=1, measurer=first)
    with pytest.raises(ValidationError, match="15 trees can be drawn"):
        second_draw_make(actor=lead, census_round=draw.round, count=16, measured_by="C. Third")
    later = second_draw_make(actor=lead, census_round=draw.round, percent=100, measured_by="C. Third")
    assert (later.number, later.size) == (2, 15)
    assert not {line.tree for line in draw_lines(later)} & {line.tree for line in draw_lines(draw)}


@pytest.mark.parametrize("observer", [FIRST, "U. Counter", "Bea Again and Una Counter", ""])
def test_the_first_person_is_refused_as_the_second(here, observer):
    draw, _first, second = here
    with pytest.raises(CensusRefused) as refused:
        second_measurements_record(actor=second, draw=draw, rows=measured(draw, observer=observer))
    assert {finding.field for found in refused.value.problems.values() for finding in found} == {"observer"}
    assert not SecondMeasurement.objects.exists()


def test_the_account_that_recorded_first_is_refused_under_any_name(here):
    draw, first, _second = here
    with pytest.raises(CensusRefused, match="cannot measure it again"):
        second_measurements_record(actor=first, draw=draw, rows=measured(draw))


def test_a_tree_outside_the_draw_and_a_second_time_are_refused(here):
    draw, _first, second = here
    other = Tree.objects.exclude(second_trees__draw=draw).first()
    stranger = CensusRow(draw.round_id, other.pk, status="A", observer=SECOND, observed_on=draw.round.opens_on)
    with pytest.raises(CensusRefused, match="not among the drawn"):
        second_measurements_record(actor=second, draw=draw, rows=[stranger])
    rows = measured(draw)
    assert second_measurements_record(actor=second, draw=draw, rows=rows[:2]) == 2
    assert second_measurements_record(actor=second, draw=draw, rows=rows[:3]) == 1  # two are known by their uuid
    with pytest.raises(CensusRefused) as refused:
        second_measurements_record(actor=second, draw=draw, rows=[*rows[:2], *measured(draw)[2:3]])
    assert list(refused.value.problems) == [2]


def test_no_tally_and_no_census_record_changes(here):
    draw, _first, second = here
    before = list(SurvivalTally.objects.values()), list(Observation.objects.values()), list(Tree.objects.values("fate"))
    second_measurements_record(actor=second, draw=draw, rows=measured(draw, status="D", height_cm=None, cause="deer"))
    assert is_handed_in(draw)
    assert (list(SurvivalTally.objects.values()), list(Observation.objects.values()), list(Tree.objects.values("fate"))) == before
    assert recount_differences()[1] == []


def test_the_second_person_sees_no_drawn_tree_before_handing_in(here):
    draw, first, second = here
    drawn = {line.tree.pk for line in draw_lines(draw)}
    for model, path in ((Tree, "pk"), (Observation, "tree_id")):
        seen = set(model.objects.for_user(second).values_list(path, flat=True))
        assert (len(seen), seen & drawn) == (15, set())
        assert drawn <= set(model.objects.for_user(first).values_list(path, flat=True))
    rows = measured(draw)
    second_measurements_record(actor=second, draw=draw, rows=rows[:4])
    assert not drawn & set(Tree.objects.for_user(second).values_list("pk", flat=True))
    second_measurements_record(actor=second, draw=draw, rows=rows[4:])
    assert drawn <= set(Tree.objects.for_user(second).values_list("pk", flat=True))


def test_closing_records_what_nobody_reached_as_not_visited(here):
    draw, _first, second = here
    second_measurements_record(actor=second, draw=draw, rows=measured(draw)[:3])
    assert second_draw_close(actor=draw.entered_by, draw=draw, reason="snow") == 2
    lines = draw_lines(draw)
    assert [line.second.status for line in lines].count("NV") == 2 and is_handed_in(draw)
    quality = quality_of(draw, lines)
    assert quality.lines[0].trees == 3 and "visited 3" in quality.careful[0]
    with pytest.raises(ValidationError, match="already"):
        second_draw_close(actor=draw.entered_by, draw=draw, reason="snow")


def test_the_result_compares_with_the_record_of_the_day_of_the_draw(here):
    draw, _first, second = here
    lines = draw_lines(draw)
    corrected = observation_correct(actor=draw.entered_by, observation=lines[0].first, reason="slip", height_cm=300)
    rows = [*measured(draw, 2)[:4], *measured(draw, 8)[4:]]
    second_measurements_record(actor=second, draw=draw, rows=rows)
    quality = quality_of(draw, draw_lines(draw))
    status, height = quality.lines
    assert corrected.height_cm == 300 and (height.within, height.trees) == (4, 5)
    # by hand: differences 2, 2, 2, 2, 8 cm have the mean 3.2
    assert height.detail.startswith("second less first 3.2 cm")
    assert (status.within, [observer for observer, _ in quality.by_observer]) == (5, [FIRST])
    assert agreement_words([draw.round]) == "A second person looked at 5 trees again: 5 with the same status."


def test_a_correction_follows_the_rules_and_the_record_stays(here):
    draw, first, second = here
    second_measurements_record(actor=second, draw=draw, rows=measured(draw)[:1])
    record = SecondMeasurement.objects.get()
    with pytest.raises(ValidationError, match="your own"):
        second_measurement_correct(actor=first, record=record, reason="slip", height_cm=90)
    with pytest.raises(CensusRefused):
        second_measurement_correct(actor=second, record=record, reason="slip", height_cm=90_000)
    newer = second_measurement_correct(actor=second, record=record, reason="slip", height_cm=90)
    assert (newer.values["height_cm"], newer.supersedes, SecondMeasurement.objects.current().count()) == (90, record, 1)
    with pytest.raises(ValidationError, match="already corrected"):
        second_measurement_correct(actor=second, record=record, reason="slip", height_cm=91)
    with override("fr"):  # the second person may read French
        for actor, given, words in ((first, "slip", "vos propres"), (second, "", "Dites pourquoi"), (second, "slip", "est déjà corrigée")):
            with pytest.raises(ValidationError, match=words):
                second_measurement_correct(actor=actor, record=record, reason=given, height_cm=91)


def test_the_records_are_append_only_and_verified(here):
    draw, _first, second = here
    second_measurements_record(actor=second, draw=draw, rows=measured(draw))
    assert [check.title for check in verify_book() if check.faults] == []
    with pytest.raises(DatabaseError), transaction.atomic():
        SecondMeasurement.objects.update(status="D")
    with pytest.raises(DatabaseError), transaction.atomic():
        SecondDraw.objects.all().delete()


def test_an_own_measurement_is_measured_again_and_compared(here):
    draw, _first, second = here
    planting, lead = draw.round.planting, draw.entered_by
    spot = factories.own_measurement(actor=lead, code="leaf_spot")
    protocol = factories.protocol(["height", spot.field], actor=lead)
    census_round = factories.census_round(planting, 2, protocol=protocol)
    trees = list(planting.trees.in_walk_order()[:3])
    factories.observe(census_round, dict.fromkeys(trees, "A"), observer=FIRST, own_values={spot.field: 1})
    again = second_draw_make(actor=lead, census_round=census_round, percent=100, measurer=second)
    rows = measured(again, lines=draw_lines(again)[:2], own_values={spot.field: 2})
    second_measurements_record(actor=second, draw=again, rows=rows)
    head = "Planting,Season,Draw,Tag,Status,Observed on,Observer,leaf_spot_v1: Leaf spot"
    cells = [planting.code, census_round.label, "1", trees[2].tag, "A", str(census_round.opens_on), SECOND, "0"]
    sheet_load(actor=lead, kind="second_measurement", content=f"{head}\n{','.join(cells)}\n".encode(), filename="second.csv")
    values = dict(SecondMeasurement.objects.current().values_list("drawn__tree__tag", "values"))
    assert [values[tree.tag] for tree in trees] == [{spot.field: 2}, {spot.field: 2}, {spot.field: 0}]
    lines = {line.what: (line.trees, line.within) for line in quality_of(again, draw_lines(again)).lines}
    assert lines["Leaf spot, class"] == (3, 3) and lines["Leaf spot, found or not"] == (3, 2)
    record = SecondMeasurement.objects.get(drawn__tree=trees[2])
    corrected = second_measurement_correct(actor=lead, record=record, reason="misread", own_values={spot.field: 1})
    assert (corrected.values, record.values) == ({spot.field: 1}, {spot.field: 0})
