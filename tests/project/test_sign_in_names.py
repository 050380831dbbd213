"""Sign-in names are for those who may see people. No list, page, download or drawing gives them to anybody else."""

import io
import zipfile

import pytest

from plantings.imports.kinds import KINDS
from plantings.models import Planting
from registry.access import roles
from registry.models import Duty, Person
from tests.people import UNKNOWN_ROLE, names
from tests.project.access_table import PUBLIC, address, routes

# what a page says is the same on both databases; test_every_page asks both for each of them
pytestmark = [pytest.mark.django_db, pytest.mark.one_database]

WITHOUT = [name for name in names() if name != UNKNOWN_ROLE and not roles.may(name.removeprefix("other "), "person.view")]
HIDDEN = "signsin"


def unpacked(content):
    """The bytes of an answer, and of every file in it where it is a ZIP or a workbook."""
    if not content.startswith(b"PK"):
        return content
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return b"\n".join(archive.read(name) for name in archive.namelist())


@pytest.fixture(scope="module")
def crewed_world(shared_world, django_db_blocker):
    """Everybody is on a crew and has a name; their sign-in names are texts that nothing else holds."""
    people, records, special = shared_world
    with django_db_blocker.unblock():
        put_on_crews(people)
        return {name: Person.objects.get(pk=person.pk) for name, person in people.items()}, records, special


def put_on_crews(people):
    for number, person in enumerate(Person.objects.order_by("pk")):
        named = {"first_name": f"First{number}", "last_name": f"Last{number}"}
        Person.objects.filter(pk=person.pk).update(username=f"{HIDDEN}{number}x", email=f"mail{number}@example.org", **named)
    for planting in Planting.objects.all():
        planting.crew.add(*Person.objects.all())
    Duty.objects.update(responsible=people["manager"], second=people["volunteer"])


def answers(client, records, special):
    """(what was asked for, its bytes) of every page and every download."""
    for name, pattern, _view in routes():
        if name in PUBLIC:
            continue
        page = address(name, pattern, records, special)
        for query in ({}, *({"download": wanted} for wanted in ("csv", "xlsx", "json"))):
            response = client.get(page, query)
            if response.status_code == 200:
                yield f"{page} {query}", b"".join(response.streaming_content) if response.streaming else response.content
            if response.status_code != 200 or (query and response["Content-Type"].startswith("text/html")):
                break  # refused, or a page that does not download: it would answer the same again
    for kind in KINDS:
        for wanted in ("csv", "xlsx"):
            response = client.get(f"/sheets/{kind}/all.{wanted}")
            if response.status_code == 200:
                yield f"all {kind} as {wanted}", response.content


@pytest.mark.parametrize("who", WITHOUT)
def test_no_answer_holds_a_sign_in_name_of_somebody_else(client, crewed_world, who):
    people, records, special = crewed_world
    client.force_login(people[who])
    own = people[who].username.encode()
    found = [asked for asked, content in answers(client, records, special) if HIDDEN.encode() in unpacked(content).replace(own, b"")]
    assert found == []


def test_who_may_see_people_still_gets_the_crews_in_the_sheet_of_plantings(client, crewed_world):
    people, *_rest = crewed_world
    client.force_login(people["lead"])
    text = client.get("/plantings/", {"download": "csv"}).content.decode()
    assert text.count(HIDDEN) >= 2 and "Crew (sign-in names)" in text
