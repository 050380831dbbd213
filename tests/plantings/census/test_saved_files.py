"""A file that a phone saves, and the same records sent later: each is stored once, whichever way comes first."""

import csv
import io
from datetime import timedelta

import pytest

from plantings.imports.census import CensusSheet
from plantings.imports.counts import PlotCountSheet
from plantings.imports.second import SecondSheet
from plantings.models import CountedPlot, Observation, PlotCount, SecondMeasurement
from plantings.selectors.census.recount import recount_differences
from plantings.services.arrival.sorting import KNOWN, REFUSED, STORED
from plantings.services.census.second import second_draw_make
from plantings.views.phone.data import phone_data
from registry.imports.sheets.formats import export_bytes
from tests import factories
from tests.plantings.census.phone_batches import NOON, new_uuid, sent
from tests.plantings.census.test_phone_plots import Plots, count
from tests.registry.sheets.sheet_help import load, refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def field():
    return Plots()


def saved(field, records, columns="sheet", **changed):
    """The file that the phone writes of these records, with the columns that it got; `changed` cells are the same in every row."""
    draw = changed.pop("of_draw", None)
    columns = phone_data(field.round, field.crew, draw=draw)[columns]
    tags = {tree.pk: tree.tag for tree in field.trees} | {None: ""}
    plots = dict(CountedPlot.objects.values_list("pk", "code"))
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([header for header, _name in columns])
    for record in records:
        cells = record | record.get("values", {}) | changed
        cells |= {"planting": field.planting.code, "round": field.round.label, "observed_on": changed.get("observed_on", record["said"])}
        cells |= {"tag": tags[record.get("tree")], "plot": plots.get(record.get("plot"), ""), "draw": draw and draw.number}
        writer.writerow([cells.get(name) for _header, name in columns])
    return out.getvalue()


def test_a_loaded_file_that_is_sent_later_is_known(field):
    dead = sent(field.trees[0], "D", note="=2 stems")
    records = [sent(field.trees[1], values={"height_cm": 61.5}), dead, sent(field.trees[2], "NF")]
    text = saved(field, records)
    assert load(CensusSheet, text).counts["new"] == 3
    assert field.results(records) == [KNOWN] * 3
    assert Observation.objects.count() == Observation.objects.current().count() == 3
    assert sorted(str(uuid) for uuid in Observation.objects.values_list("uuid", flat=True)) == sorted(one["uuid"] for one in records)
    assert load(CensusSheet, text).counts["unchanged"] == 3
    assert recount_differences()[1] == []


def test_sent_records_that_are_loaded_later_are_unchanged(field):
    records = [sent(field.trees[0], "D", cause="deer"), sent(field.trees[1], values={"height_cm": 61.5}, note="leaning")]
    assert field.results(records) == [STORED] * 2
    assert load(CensusSheet, saved(field, records)).counts["unchanged"] == 2
    assert Observation.objects.count() == 2


def test_a_day_that_the_server_worked_out_is_the_same_record(field):
    near, wrong = sent(field.trees[0]), sent(field.trees[1], said="2031-09-02", note="leaning")
    assert field.results([near, wrong]) == [STORED] * 2
    assert Observation.objects.get(tree=field.trees[1]).note == "leaning [phone clock: 2031-09-02]"
    plan = load(
        CensusSheet, saved(field, [near], observed_on="2019-09-15") + saved(field, [wrong], observed_on="2019-09-02").split("\n")[1]
    )
    assert plan.counts["unchanged"] == 2
    assert [str(warning) for warning in plan.warnings] == [
        f"row {row}, column 'Observed on': '{day}' is the day in the file; the record on file with this identifier has 2019-09-14, "
        "which the server worked out, and does not change"
        for row, day in ((2, "2019-09-15"), (3, "2019-09-02"))
    ]
    [problem] = refused(CensusSheet, saved(field, [near], observed_on="2019-09-03"))
    assert problem.startswith("row 2, column 'Observed on': '2019-09-03' differs from the record on file")


def test_other_values_under_an_identifier_are_refused(field):
    record = sent(field.trees[0], values={"height_cm": 61.5})
    load(CensusSheet, saved(field, [record]))
    [problem] = refused(CensusSheet, saved(field, [record | {"values": {"height_cm": 62.5}}]))
    assert problem == (
        "row 2, column 'Height (cm)': '62.5' differs from the record on file with this identifier, which says '61.5'; "
        "to correct that record, clear its identifier cells"
    )
    [problem] = refused(CensusSheet, saved(field, [record | {"tree": field.trees[1].pk}]))
    assert problem.startswith("row 2, column 'Tag': ")
    assert Observation.objects.count() == 1


def test_a_row_without_its_identifier_corrects_the_record(field):
    record = sent(field.trees[0], values={"height_cm": 61.5})
    load(CensusSheet, saved(field, [record]))
    load(CensusSheet, saved(field, [record], uuid="", height_cm=62.5), reason="read again")
    assert Observation.objects.current().get().height_cm == 62.5
    assert load(CensusSheet, saved(field, [record])).counts["unchanged"] == 1
    assert field.results([record]) == [KNOWN]


def test_an_identifier_that_cannot_be_one_or_comes_twice_is_refused(field):
    record = sent(field.trees[0])
    [problem] = refused(CensusSheet, saved(field, [record | {"uuid": "12345"}]))
    assert problem.startswith("row 2, column 'Record identifier': '12345' is not an identifier that Mastbook wrote")
    [problem] = refused(CensusSheet, saved(field, [record, record | {"tree": field.trees[1].pk}]))
    assert problem == f"row 3, column 'Record identifier': '{record['uuid']}' is in row 2 already; remove one of the two rows"
    assert load(CensusSheet, saved(field, [record | {"uuid": record["uuid"].upper()}])).counts["new"] == 1


def test_a_correction_and_what_it_corrects_are_one_current_record(field):
    first = sent(field.trees[0], values={"height_cm": 61.5}, note="leaning")
    second = sent(field.trees[0], "D", cause="deer", corrects=first["uuid"])
    third = sent(field.trees[0], "D", cause="drought", corrects=second["uuid"])
    assert load(CensusSheet, saved(field, [third, first, second])).counts["new"] == 3
    assert Observation.objects.current().get().cause == "drought"
    assert field.results([first, second, third]) == [KNOWN] * 3
    assert Observation.objects.count() == 3 and recount_differences()[1] == []


def test_a_correction_of_a_sent_record_supersedes_it(field):
    first, other = sent(field.trees[0], note="leaning"), sent(field.trees[1])
    field.receive([first, other])
    second = sent(field.trees[0], "D", cause="deer", corrects=first["uuid"])
    load(CensusSheet, saved(field, [second]))
    current = Observation.objects.current().get(tree=field.trees[0])
    assert (str(current.uuid), current.note, current.reason) == (second["uuid"], "", "corrected on the phone")
    assert field.results([second]) == [KNOWN]
    again = sent(field.trees[0], corrects=first["uuid"])
    [problem] = refused(CensusSheet, saved(field, [again]))
    assert "is corrected by another record already" in problem
    [problem] = refused(CensusSheet, saved(field, [again | {"corrects": other["uuid"]}]))
    assert "is a record of another place or round" in problem
    [problem] = refused(CensusSheet, saved(field, [again | {"corrects": new_uuid()}]))
    assert "is neither on file nor in this sheet" in problem
    [problem] = refused(CensusSheet, saved(field, [again | {"corrects": again["uuid"]}]))
    assert "corrects a record that corrects this one" in problem
    [problem] = refused(CensusSheet, saved(field, [second | {"uuid": ""}]))
    assert "is given without a record identifier" in problem


def test_a_record_of_a_second_phone_is_beside_the_first(field):
    records = [sent(field.trees[0]), sent(field.trees[0], "D", cause="deer", observer="S. Looker")]
    load(CensusSheet, saved(field, records[:1]))
    load(CensusSheet, saved(field, records[1:]))
    assert Observation.objects.current().count() == 2
    assert field.results(records) == [KNOWN] * 2


def test_an_export_has_no_identifiers_and_changes_nothing(field):
    load(CensusSheet, saved(field, [sent(field.trees[0])]))
    exported = export_bytes(CensusSheet, Observation.objects.current(), "csv").decode("utf-8-sig")
    assert "identifier" not in exported.splitlines()[0]
    assert load(CensusSheet, exported).counts["unchanged"] == 1


def test_a_loaded_file_of_counts_that_is_sent_later_is_known(field):
    first, other = count(field.plots[0], 31, 4, note="deer"), count(field.plots[1], 12)
    second = count(field.plots[0], 30, corrects=first["uuid"])
    records = [first, other, second]
    text = saved(field, records, "countSheet")
    assert load(PlotCountSheet, text).counts["new"] == 3
    assert field.results(records) == [KNOWN] * 3
    assert sorted(PlotCount.objects.current().values_list("alive", "dead", "note")) == [(12, 0, ""), (30, 0, "")]
    assert load(PlotCountSheet, text).counts["unchanged"] == 3
    [problem] = refused(PlotCountSheet, saved(field, [other | {"alive": 13}], "countSheet"))
    assert problem.startswith("row 2, column 'Alive (count)': '13' differs from the record on file with this identifier")
    assert PlotCount.objects.count() == 3 and recount_differences()[1] == []


def test_a_loaded_file_of_second_measurements_is_known(field):
    factories.observe(field.round, dict.fromkeys(field.trees, "A"), actor=factories.person(), observer="Una Counter")
    field.round.closes_on = NOON.date() + timedelta(days=5)
    draw = second_draw_make(actor=factories.person(), census_round=field.round, count=6, measurer=field.crew)
    first = sent(field.trees[0], values={"height_cm": 61.5}, note="leaning", observer=draw.measured_by)
    second = sent(field.trees[0], values={}, observer=draw.measured_by, corrects=first["uuid"])
    other = sent(field.trees[1], "D", observer=draw.measured_by)
    records = [first, second, other]
    text = saved(field, records, of_draw=draw)
    assert load(SecondSheet, text).counts["new"] == 3
    assert field.results(records, draw=draw) == [KNOWN] * 3
    assert SecondMeasurement.objects.current().count() == 2
    assert load(SecondSheet, text).counts["unchanged"] == 3
    [problem] = refused(SecondSheet, saved(field, [first | {"note": "upright"}], of_draw=draw))
    assert problem.startswith("row 2, column 'Note': 'upright' differs from the record on file with this identifier")
    assert field.results([first | {"note": "upright"}], draw=draw) == [REFUSED]


def test_a_file_of_a_round_fetched_before_the_columns_is_read(field):
    record = sent(field.trees[0])
    text = saved(field, [record]).replace("Record identifier,Corrects record", "uuid,corrects")
    assert "uuid,corrects" in text
    load(CensusSheet, text)
    assert field.results([record]) == [KNOWN]
