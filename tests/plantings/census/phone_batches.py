"""Records as a phone sends them, and who sends them, for the tests of the phone census."""

import datetime
import itertools
import json
from uuid import UUID

from django.test import Client
from django.utils import timezone

from plantings.services.census.round_links import round_link_make
from plantings.views.phone.data import VERSION
from tests import factories

_numbers = itertools.count(1)
NOON = datetime.datetime(2019, 9, 14, 16, 0, tzinfo=datetime.UTC)  # noon in New York


def ms(moment):
    return int(moment.timestamp() * 1000)


def new_uuid():
    return str(UUID(int=next(_numbers) + (4 << 76) + (8 << 60)))


def sent(tree, status="A", *, at=NOON, **fields):
    """One record as the phone writes it."""
    record = {
        "uuid": new_uuid(), "tree": tree.pk, "status": status, "cause": "", "values": {}, "note": "", "observer": "R. Counter",
        "at": ms(at), "said": at.date().isoformat(), "loaded": ms(at) - 3_600_000,
    }  # fmt: skip
    return record | fields


def body(records, **changed):
    return {"version": VERSION, "clock": ms(timezone.now()), "records": records} | changed


def post(client, address, content, **headers):
    text = content if isinstance(content, (str, bytes)) else json.dumps(content)
    return client.post(address, text, content_type="application/json", headers=headers)


def crew_of(field):
    client = Client()
    client.force_login(field.crew)
    return client


def by_link(field):
    """(link to the round, headers of its holder)."""
    made, token = round_link_make(
        actor=factories.person("lead", first_name="Ada", last_name="Lead"),
        census_round=field.round,
        for_whom="the school",
        ends_on=timezone.localdate(),
    )
    return made, {"X-Round-Link": token}
