"""A batch of records from a phone: an answer for each, and a day that no wrong clock can move."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from plantings.models import Observation
from plantings.selectors.census.recount import recount_differences
from plantings.services.arrival.sorting import KNOWN, REFUSED, STORED
from plantings.services.census.batch import BATCH_MOST, census_batch_receive
from plantings.services.census.observations import observation_correct
from registry.models import AuditEntry
from tests import factories
from tests.plantings.census.phone_batches import NOON, ms, new_uuid, sent
from tests.properties import examples

pytestmark = pytest.mark.django_db


WITHOUT_SHRINKING = (Phase.explicit, Phase.reuse, Phase.generate)  # an example has at most eight records as it is


class Field:
    """A planting of six trees with an open round, and somebody who records it."""

    def __init__(self):
        self.crew = factories.person("volunteer")
        self.planting = factories.planting(crew=[self.crew])
        self.trees = factories.trees(self.planting, count=6)
        self.round = factories.census_round(self.planting)

    def receive(self, records, *, clock=None, now=NOON, **given):
        clock_ms = ms(now) if clock is None else clock
        return census_batch_receive(actor=self.crew, census_round=self.round, sent=records, clock_ms=clock_ms, now=now, **given)

    def results(self, records, **given):
        return [answer.result for answer in self.receive(records, **given)]


@pytest.fixture
def field():
    return Field()


def only_record():
    return Observation.objects.get()


def test_each_record_has_an_answer_in_the_order_it_was_sent(field):
    records = [sent(field.trees[0]), sent(field.trees[1], "gone"), sent(field.trees[2], "D", cause="deer")]
    answers = field.receive(records)
    assert [answer.uuid for answer in answers] == [record["uuid"] for record in records]
    assert [answer.result for answer in answers] == [STORED, REFUSED, STORED]
    assert answers[1].reason.startswith("“gone” is not a status.")
    assert dict(Observation.objects.values_list("tree__tag", "cause")) == {field.trees[0].tag: "", field.trees[2].tag: "deer"}


def test_a_batch_is_one_entry_of_the_audit_trail(field):
    before = AuditEntry.objects.count()
    field.receive([sent(tree) for tree in field.trees])
    assert AuditEntry.objects.count() == before + 1


def test_a_batch_asks_the_database_as_seldom_as_one_record(field):
    """Each statement under the lock of a planting is a wait for every other phone of it, most of all on PostgreSQL: two programs take turns."""
    field.receive([sent(field.trees[0])])  # the first record of a round counts the planting
    counts = []
    for trees in (field.trees[1:2], field.trees[2:]):
        with CaptureQueriesContext(connection) as asked:
            field.receive([sent(tree) for tree in trees])
        counts.append(len(asked))
        assert not [query["sql"] for query in asked if "CURSOR" in query["sql"]]  # which would be four answers
    assert counts == [28, 28]  # 29 with a look for corrected records where there are none; measured, no source


def test_what_was_sent_before_is_known_and_stored_once(field):
    records = [sent(field.trees[0], values={"height_cm": 142, "canker_class": 1}), sent(field.trees[1], "D")]
    assert field.results(records) == [STORED, STORED]
    assert field.results(records, now=NOON + timedelta(days=3)) == [KNOWN, KNOWN]
    assert Observation.objects.count() == 2


@pytest.mark.parametrize(
    "changed",
    [{"status": "D"}, {"values": {"height_cm": 141}}, {"note": "other"}, {"observer": "Somebody"}],
    ids=lambda one: next(iter(one)),
)
def test_a_stored_identifier_with_other_values_is_refused(field, changed):
    record = sent(field.trees[0], values={"height_cm": 142})
    field.receive([record])
    [answer] = field.receive([record | changed])
    assert (answer.result, Observation.objects.count()) == (REFUSED, 1)
    assert "already stored with other values" in answer.reason


def test_an_identifier_stored_at_another_round_is_refused(field):
    record = sent(field.trees[0])
    field.receive([record])
    other = factories.census_round(field.planting, season=2)
    answers = census_batch_receive(actor=field.crew, census_round=other, sent=[record], clock_ms=ms(NOON), now=NOON)
    assert [answer.result for answer in answers] == [REFUSED]


def test_the_same_record_twice_in_one_batch_is_stored_once(field):
    record = sent(field.trees[0])
    assert field.results([record, record, record | {"status": "D"}]) == [STORED, KNOWN, REFUSED]
    assert only_record().status == "A"


def test_a_refused_record_repeated_in_one_batch_is_refused_twice(field):
    record = sent(field.trees[0], "RM")
    assert field.results([record, record]) == [REFUSED, REFUSED]


def test_a_tree_of_another_planting_is_refused_alone(field):
    far = factories.trees(factories.planting(), count=1)[0]
    assert field.results([sent(far), sent(field.trees[0])]) == [REFUSED, STORED]


def test_a_larger_batch_is_refused_as_a_whole(field):
    with pytest.raises(ValidationError, match="at most 200 records"):
        field.receive([sent(field.trees[0]) for _ in range(BATCH_MOST + 1)])


@pytest.mark.parametrize("wrong", [timedelta(days=366), timedelta(days=-366), timedelta(hours=7), timedelta(hours=-7)])
def test_a_wrong_clock_moves_no_day_and_is_noted(field, wrong):
    record = sent(field.trees[0], at=NOON + wrong, loaded=ms(NOON) - 3_600_000, note="leaning")
    assert field.results([record], clock=ms(NOON + wrong + timedelta(days=2)), now=NOON + timedelta(days=2)) == [STORED]
    noted = f" [phone clock: {record['said']}]" if abs(wrong) > timedelta(days=1) else ""
    assert (only_record().observed_on, only_record().note) == (date(2019, 9, 14), f"leaning{noted}")
    assert field.results([record], clock=ms(NOON), now=NOON + timedelta(days=9)) == [KNOWN]


@pytest.mark.parametrize(("wrong", "day"), [(366, date(2019, 9, 20)), (-366, date(2019, 9, 14))])
def test_a_clock_set_right_before_sending_gives_a_day_between(field, wrong, day):
    """Of a clock that was set between the record and the sending only the days it must lie between are known."""
    record = sent(field.trees[0], at=NOON + timedelta(days=wrong), loaded=ms(NOON) - 3_600_000)
    later = NOON + timedelta(days=6)
    assert field.results([record], clock=ms(later), now=later) == [STORED]
    assert only_record().observed_on == day
    assert "phone clock" in only_record().note


def test_the_day_is_that_of_the_site(field):
    """An hour after midnight in New York it is still the evening before in Wisconsin."""
    field.planting.site.jurisdiction = "US-WI"
    field.planting.site.save()
    at = NOON + timedelta(hours=12, minutes=30)
    field.receive([sent(field.trees[0], at=at, said="2019-09-14")], now=at)
    assert (only_record().observed_on, only_record().note) == (date(2019, 9, 14), "")


def test_a_correction_follows_its_record_even_in_one_batch(field):
    first = sent(field.trees[0], "D")
    again = sent(field.trees[0], "A", corrects=first["uuid"])
    last = sent(field.trees[0], "AR", corrects=again["uuid"])
    assert field.results([last, again, first]) == [STORED] * 3
    assert Observation.objects.current().get().status == "AR"
    assert field.results([last, again, first]) == [KNOWN] * 3


def test_a_correction_of_what_is_not_there_waits_on_the_phone(field):
    [answer] = field.receive([sent(field.trees[0], corrects=new_uuid())])
    assert answer.result == REFUSED
    assert "is not stored" in answer.reason


def test_a_record_is_corrected_once_and_by_its_own_crew(field):
    record = sent(field.trees[0])
    field.receive([record])
    other = factories.person("volunteer")
    field.planting.crew.add(other)
    correction = sent(field.trees[0], "D", corrects=record["uuid"])
    [answer] = census_batch_receive(actor=other, census_round=field.round, sent=[correction], clock_ms=ms(NOON), now=NOON)
    assert (answer.result, "your own records" in answer.reason) == (REFUSED, True)
    observation_correct(actor=factories.person("lead"), observation=only_record(), reason="seen again", status="AR")
    [answer] = field.receive([correction])
    assert (answer.result, "already corrected" in answer.reason) == (REFUSED, True)
    assert field.results([sent(field.trees[1], "D", corrects=record["uuid"])]) == [REFUSED]


@pytest.mark.parametrize(
    "broken",
    [
        None, 7, "A", [], {}, {"uuid": 1}, {"uuid": "x" * 10_000}, {"tree": "1"}, {"tree": 10**30}, {"tree": True}, {"status": None}, {"status": ["A"]},
        {"note": "a\0b"}, {"note": "\ud800"}, {"note": "x" * 1_001}, {"note": "x" * 20_000}, {"values": []}, {"values": {"height_cm": "142"}},
        {"values": {"height_cm": -1}}, {"values": {"height_cm": 1e300}}, {"values": {"height_cm": 10**400}}, {"values": {"canker_class": 1.5}},
        {"values": {"canker_class": 9}}, {"values": {"browse_class": 1}}, {"values": {"entered_by": 1}}, {"at": None}, {"at": 1.5},
        {"loaded": "x"}, {"corrects": "x"}, {"observer": "x" * 121}, {"entered_by": 1}, {"cause": "nobody knows", "status": "D"},
    ],
    ids=lambda one: str(one)[:30].encode("ascii", "replace").decode(),
)  # fmt: skip
def test_a_broken_record_gets_a_sentence_and_holds_back_no_other(field, broken):
    good = sent(field.trees[1], values={"height_cm": 142.5, "browse_class": "light", "dieback_percent": 10.0})
    bad = sent(field.trees[0]) | broken if isinstance(broken, dict) and broken else broken
    answers = field.receive([bad, good])
    assert [answer.result for answer in answers] == [REFUSED, STORED]
    assert answers[0].reason.endswith(".")
    assert (only_record().height_cm, only_record().dieback_percent) == (142.5, 10)


@pytest.mark.parametrize("at", [-(2**60), 0, 2**60])
def test_no_moment_of_a_phone_is_too_far_to_work_out_a_day(field, at):
    assert field.results([sent(field.trees[0]) | {"at": at}], clock=-at) == [STORED]
    assert only_record().observed_on == date(2019, 9, 14)


class BatchProperties(TestCase):
    """However often and in whatever order a phone sends, each record is stored once, and as it was typed."""

    @classmethod
    def setUpTestData(cls):
        cls.field = Field()

    @settings(max_examples=examples(15), deadline=None, phases=WITHOUT_SHRINKING, suppress_health_check=list(HealthCheck))
    @given(
        st.lists(st.tuples(st.integers(0, 5), st.sampled_from(["A", "AR", "D", "NF", "SU"]), st.integers(1, 300)), min_size=1, max_size=8),
        st.lists(st.lists(st.integers(0, 7), max_size=10), max_size=5),
    )
    def test_every_observation_is_there_once_and_as_typed(self, typed, sendings):
        field = self.field
        records = [
            sent(field.trees[tree], status, values={"height_cm": height} if status in {"A", "AR"} else {}) for tree, status, height in typed
        ]
        for sending in [*sendings, range(len(records))]:
            batch = [records[place] for place in sending if place < len(records)]
            assert set(field.results(batch)) <= {STORED, KNOWN}
        stored = {str(item.uuid): (item.tree_id, item.status, item.height_cm) for item in Observation.objects.all()}
        wanted = {record["uuid"]: (record["tree"], record["status"], record["values"].get("height_cm")) for record in records}
        assert stored == wanted
        assert recount_differences()[1] == []
