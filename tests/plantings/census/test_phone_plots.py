"""Counts of plots and cautions read, as a phone sends them: in one batch with the trees, an answer for each, stored once."""

from datetime import timedelta
from types import SimpleNamespace

import pytest

from plantings.models import CautionsRead, PlotCount, SurvivalTally
from plantings.selectors.census.recount import recount_differences
from plantings.services.arrival.sorting import KNOWN, REFUSED, STORED
from plantings.services.census.batch import census_batch_receive
from plantings.services.trees import counted_plot_add
from registry.models import AuditEntry, CautionSeen
from registry.selectors.audit.verify import verify_book
from registry.services.safety.cautions import caution_add
from tests import factories
from tests.plantings.census.phone_batches import NOON, ms, sent
from tests.plantings.census.test_census_batch import Field

pytestmark = pytest.mark.django_db
WORDING, OTHER = "ab" * 32, "cd" * 32


class Plots(Field):
    """The same planting with two counted plots of 40 seeds."""

    def __init__(self):
        super().__init__()
        lot, actor = factories.seed_lot(), factories.person()
        add = {"actor": actor, "planting": self.planting, "lot": lot, "planted_count": 40}
        self.plots = [counted_plot_add(code=code, **add) for code in ("D1", "D2")]
        self.round.closes_on = NOON.date() + timedelta(days=5)
        self.round.save()


@pytest.fixture
def field():
    return Plots()


def head():
    record = sent(SimpleNamespace(pk=0))
    return {name: record[name] for name in ("uuid", "observer", "at", "said", "loaded")}


def count(plot, alive, dead=0, **fields):
    return head() | {"kind": "plot", "plot": plot.pk, "alive": alive, "dead": dead, "note": ""} | fields


def reading(wording=WORDING, **fields):
    return head() | {"kind": "cautions", "wording": wording, "versions": []} | fields


def test_trees_plots_and_cautions_share_a_batch(field):
    before = AuditEntry.objects.count()
    records = [reading(), sent(field.trees[0]), count(field.plots[0], 31, 4, note="deer"), count(field.plots[1], 12)]
    assert field.results(records) == [STORED] * 4
    assert AuditEntry.objects.count() == before + 3  # one for each kind
    stored = PlotCount.objects.get(plot=field.plots[0])
    assert (stored.alive, stored.dead, stored.note, stored.observer, stored.entered_by) == (31, 4, "deer", "R. Counter", field.crew)
    assert (stored.observed_on, stored.received_at) == (NOON.date(), NOON)
    # 80 seeds in both plots; found 31 and 12 alive, 4 dead, the rest of the counted not found: calc/plots.py, common practice
    tally = SurvivalTally.objects.get(entry=field.plots[0].entry)
    assert (tally.planted, tally.alive, tally.dead, tally.not_found) == (80, 43, 4, 33)
    assert field.results(records, now=NOON + timedelta(days=2)) == [KNOWN] * 4
    assert PlotCount.objects.count() == 2
    assert recount_differences()[1] == [] and [check for check in verify_book() if check.faults] == []


def test_a_wrong_count_holds_back_no_other(field):
    far = counted_plot_add(actor=factories.person(), planting=factories.planting(), code="D1", lot=factories.seed_lot(), planted_count=40)
    records = [
        count(field.plots[0], 41), count(field.plots[1], 5), count(far, 5), count(field.plots[0], -1), count(field.plots[0], 3, status="A"),
    ]  # fmt: skip
    answers = field.receive(records)
    assert [answer.result for answer in answers] == [REFUSED, STORED, REFUSED, REFUSED, REFUSED]
    assert [answer.uuid for answer in answers] == [record["uuid"] for record in records]
    assert answers[0].reason.startswith("41 alive and 0 dead are more than the 40 planted")
    assert answers[2].reason == "This plot is not in the planting of this round."
    assert PlotCount.objects.get().alive == 5


def test_a_count_sent_again_with_other_values_is_refused(field):
    record = count(field.plots[0], 31)
    assert field.results([record, record, record | {"alive": 13}]) == [STORED, KNOWN, REFUSED]
    assert field.results([record | {"plot": field.plots[1].pk}]) == [REFUSED]
    assert PlotCount.objects.get().alive == 31


def test_a_count_is_corrected_by_a_new_one(field):
    first = count(field.plots[0], 31)
    again = count(field.plots[0], 13, corrects=first["uuid"])
    elsewhere = count(field.plots[1], 13, corrects=first["uuid"])
    assert field.results([again, elsewhere, first]) == [STORED, REFUSED, STORED]
    standing = PlotCount.objects.current().get()
    assert (standing.alive, standing.supersedes.alive, standing.reason) == (13, 31, "corrected on the phone")
    assert field.results([count(field.plots[0], 14, corrects=first["uuid"])]) == [REFUSED]


def test_cautions_are_stored_once_for_person_round_and_wording(field):
    caution_add(
        actor=factories.person("lead"), code="TICKS", in_use_from=factories.day(2019), task="census", hazard="Ticks", text="Check.",
        decider="you", months=[], site_codes=[], source="",
    )  # fmt: skip
    records = [reading(versions=["TICKS 1", "GHOST 9"], language="fr"), reading(), reading(observer="Mia"), reading(OTHER, language="xx")]
    assert field.results(records) == [STORED, KNOWN, STORED, STORED]
    stored = CautionsRead.objects.order_by("pk").first()
    assert (stored.name, stored.wording, stored.versions, stored.read_at) == ("R. Counter", WORDING, ["TICKS 1"], NOON)
    assert list(CautionsRead.objects.order_by("pk").values_list("language", flat=True)) == ["fr", "", ""]
    assert field.results([reading(now="x"), reading("short"), reading(observer=" "), reading(corrects=records[0]["uuid"])]) == [REFUSED] * 4
    assert CautionsRead.objects.count() == 3
    assert not CautionSeen.objects.exists()  # none of these names is that of the account
    assert field.results([reading(observer=str(field.crew), versions=["TICKS 1"])]) == [STORED]
    assert CautionSeen.objects.get().versions == ["TICKS 1"]  # the forms do not ask this person again


def test_an_unknown_kind_is_refused_as_a_record(field):
    records = [sent(field.trees[0], kind="weather"), sent(field.trees[1], kind=["plot"]), sent(field.trees[2])]
    answers = census_batch_receive(actor=field.crew, census_round=field.round, sent=records, clock_ms=ms(NOON), now=NOON)
    assert [answer.result for answer in answers] == [REFUSED, REFUSED, STORED]
    assert "“kind” is not a part of a record" in answers[0].reason
