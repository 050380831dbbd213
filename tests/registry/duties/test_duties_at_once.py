"""Several people at the same moment: a due date is done once, a person has one open calendar address."""

import datetime
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.exceptions import ValidationError
from django.db import connections

from registry.models import CalendarFeed, DutyDone
from registry.services.duties.duties import duty_done_correct, duty_done_enter
from registry.services.duties.feeds import feed_make, token_sha256
from tests import factories

pytestmark = pytest.mark.django_db(transaction=True)
WRITERS = 8
DUE = datetime.date(2020, 5, 1)


def at_once(write):
    gate = threading.Barrier(WRITERS)

    def one(_number):
        try:
            gate.wait(timeout=60)
            return write()
        except ValidationError:
            return None
        finally:
            connections.close_all()

    with ThreadPoolExecutor(WRITERS) as pool:
        return [result for result in pool.map(one, range(WRITERS)) if result is not None]


def test_a_due_date_is_done_once_and_corrected_once():
    actor, duty = factories.person(), factories.duty(first_due_on=DUE)
    values = {"actor": actor, "due_on": DUE, "done_on": DUE, "by": "A", "evidence": "letter"}
    [record] = at_once(lambda: duty_done_enter(duty=duty, **values))
    [newer] = at_once(lambda: duty_done_correct(record=record, reason="misread", **values))
    assert list(DutyDone.objects.order_by("pk")) == [record, newer]


def test_only_the_latest_calendar_address_works():
    person = factories.person("volunteer")
    tokens = at_once(lambda: feed_make(actor=person))
    assert len(set(tokens)) == WRITERS
    feed = CalendarFeed.objects.get(revoked_at__isnull=True)
    assert CalendarFeed.objects.count() == WRITERS
    assert feed.token_sha256 in {token_sha256(token) for token in tokens}
