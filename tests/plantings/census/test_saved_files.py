"""A file that a phone saves, and the same records sent later: each is stored once, whichever way comes first."""

import csv
import io
from datetime import timedelta

import pytest

from plantings.choices import ReviewState
from plantings.imports.census import CensusSheet
from plantings.imports.counts import PlotCountSheet
from plantings.imports.second import SecondSheet
from plantings.models import CountedPlot, Observation, PlotCount, SecondMeasurement, SurvivalTally
from plantings.selectors.census.queue import DISAGREE, review_queue
from plantings.selectors.census.recount import recount_differences
from plantings.services.arrival.sorting import KNOWN, REFUSED, STORED
from plantings.services.census.observations import observation_correct
from plantings.services.census.plot_counts import plot_count_correct
from plantings.services.census.reviews import records_review
from plantings.services.census.second import second_draw_make, second_measurement_correct
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
    [problem] = refused(CensusSheet, saved(field, [again | {"corrects": other["uuid"]}]))
    assert "is a record of another place or round" in problem
    [problem] = refused(CensusSheet, saved(field, [again | {"corrects": new_uuid()}]))
    assert "is neither on file nor in this sheet" in problem
    [problem] = refused(CensusSheet, saved(field, [again | {"corrects": again["uuid"]}]))
    assert "corrects a record that corrects this one" in problem
    [problem] = refused(CensusSheet, saved(field, [second | {"uuid": ""}]))
    assert "is given without a record identifier" in problem


def test_a_correction_of_what_the_office_corrected_is_a_second_record(field):
    first = sent(field.trees[0], values={"height_cm": 61.5})
    field.receive([first])
    record = Observation.objects.get()
    observation_correct(actor=factories.person(), observation=record, reason="seen on the photo", height_cm=62.5)
    second = sent(field.trees[0], "D", cause="deer", corrects=first["uuid"])
    third = sent(field.trees[0], "D", cause="drought", corrects=second["uuid"])
    assert field.results([second]) == [REFUSED]
    text = saved(field, [second, third])
    plan = load(CensusSheet, text)
    [said] = map(str, plan.warnings)
    assert said.startswith(
        f"row 2, column 'Corrects record': '{first['uuid']}' was corrected by another record meanwhile, so this row is stored"
    )
    assert plan.counts["new"] == 2
    values = dict(Observation.objects.current().values_list("height_cm", "cause"))
    assert values == {62.5: "", None: "drought"}  # the office's and the phone's, beside each other
    assert SurvivalTally.objects.get(
        round=field.round, entry=field.trees[0].entry, dead=1
    )  # the later one counts until somebody rejects one
    odd = {line.record.cause: line.looks for line in review_queue(field.round).odd}
    assert DISAGREE in odd["drought"]
    # the same file again changes nothing, and what the phone still holds is known
    assert load(CensusSheet, text).counts["unchanged"] == 2
    assert field.results([second, third]) == [KNOWN] * 2
    assert field.results([second | {"cause": "frost"}]) == [REFUSED]
    assert Observation.objects.count() == 4 and recount_differences()[1] == []


def test_a_count_of_what_the_office_corrected_is_a_second_count(field):
    first = count(field.plots[0], 30)
    field.receive([first])
    plot_count_correct(actor=factories.person(), count=PlotCount.objects.get(), reason="the crew called", alive=31)
    second = count(field.plots[0], 29, corrects=first["uuid"])
    assert field.results([second]) == [REFUSED]
    text = saved(field, [second], "countSheet")
    assert "was corrected by another record meanwhile" in str(load(PlotCountSheet, text).warnings[0])
    assert sorted(PlotCount.objects.current().values_list("alive", flat=True)) == [29, 31]
    assert load(PlotCountSheet, text).counts["unchanged"] == 1
    assert field.results([second]) == [KNOWN]


def test_a_second_measurement_that_is_corrected_stays_the_only_one(field):
    field.planting.crew.add(field.crew)
    factories.observe(field.round, dict.fromkeys(field.trees, "A"), observer="U. First")
    draw = second_draw_make(actor=factories.person(), census_round=field.round, percent=100, measured_by="R. Counter")
    first = sent(field.trees[0])
    load(SecondSheet, saved(field, [first], of_draw=draw))
    record = SecondMeasurement.objects.get()
    second_measurement_correct(actor=factories.person(), record=record, reason="called", status="NF")
    [problem] = refused(SecondSheet, saved(field, [sent(field.trees[0], "NF", corrects=first["uuid"])], of_draw=draw))
    assert "is corrected by another record already" in problem


def test_a_row_whose_record_was_rejected_says_that_it_stores_nothing(field):
    record, plot = sent(field.trees[0]), count(field.plots[0], 30)
    field.receive([record, plot])
    lead = factories.person()
    stored = {"observations": Observation.objects.all(), "counts": PlotCount.objects.all()}
    records_review(actor=lead, **stored, state=ReviewState.REJECTED, reason="another row")
    for sheet, text, name in (
        (CensusSheet, saved(field, [record]), "Tag"), (PlotCountSheet, saved(field, [plot], "countSheet"), "Plot"),
    ):  # fmt: skip
        plan = load(sheet, text)
        assert plan.counts["unchanged"] == 1
        [said] = map(str, plan.warnings)
        assert said.startswith(f"row 2, column '{name}': ") and "with the same values and was rejected: this row stores nothing" in said
        assert "clear the identifier cells, write so in the note" in said
    assert not Observation.objects.current().exists()
    load(CensusSheet, saved(field, [record], uuid="", note="seen again"), reason="seen again")
    assert Observation.objects.current().get().note == "seen again"
    assert load(CensusSheet, saved(field, [record], uuid="", note="seen again")).warnings == []


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
