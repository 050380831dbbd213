"""Incidents on screen: entered, told, corrected and closed."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from registry.models import Incident, IncidentNotice
from registry.selectors.duties.incidents import incident_clocks, with_clocks
from registry.services.duties.incidents import incident_notice_enter
from tests import factories
from tests.registry.duties.incident_help import FRIDAY, clock, tell

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def new_york(settings):
    settings.TIME_ZONE = "America/New_York"
    with timezone.override("America/New_York"):
        yield


FORM = {"title": "Stolen tags", "what": "Twelve tags", "found_at": "2026-10-09T17:00", "found_by": "F. Finder", "lots": ""}


def test_the_form_stores_an_incident_with_its_papers_and_lots(client):
    manager = factories.person("manager")
    client.force_login(manager)
    paper = factories.authorization(state="expired")
    clock(paper, 24, title="written report")
    lot = factories.stock_lot(code="P-77")
    page = client.get(reverse("incident_add"), {"paper": paper.pk}).content.decode()
    assert "America/New_York" in page and f'<option value="{paper.pk}" selected>' in page
    response = client.post(reverse("incident_add"), FORM | {"authorizations": [paper.pk], "lots": "p-77"}, follow=True)
    incident = Incident.objects.get()
    assert (incident.found_at, list(incident.lots.all()), list(incident.authorizations.all())) == (FRIDAY, [lot], [paper])
    text = response.content.decode()
    assert "10 Oct 2026, 17:00 EDT (America/New_York)" in text
    assert "check with the local authority" in text


def test_an_unknown_lot_is_refused_by_name(client):
    client.force_login(factories.person("manager"))
    page = client.post(reverse("incident_add"), FORM | {"lots": "P-1, NONE"}).content.decode()
    assert "No lot on file has this code: P-1, NONE." in page and "Twelve tags" in page
    assert not Incident.objects.exists()


def test_telling_and_closing_on_screen(client):
    client.force_login(factories.person("coordinator"))
    paper = factories.authorization()
    running = clock(paper, 24, title="first call")
    incident = factories.incident(papers=[paper], found_at=FRIDAY)
    refused = client.post(reverse("incident_close", args=[incident.pk]), {"closed_on": "2026-11-01", "reason": "x"}).content.decode()
    assert "No notice yet for: first call" in refused
    values = {"clocks": [running.pk], "told_at": "2026-10-09T18:00", "told_whom": "Office", "how": "phone", "told_by": "Me"}
    page = client.post(reverse("incident_notice", args=[incident.pk]), values, follow=True).content.decode()
    assert "told in time" in page and "9 Oct 2026, 18:00 EDT (America/New_York)" in page
    page = client.post(reverse("incident_close", args=[incident.pk]), {"closed_on": "2026-11-01", "reason": "pulled out"}, follow=True)
    assert "Closed: pulled out" in page.content.decode()


def test_the_file_of_a_notice_is_a_download_without_caching(client):
    client.force_login(factories.person("auditor"))
    [notice] = tell(factories.incident(found_at=FRIDAY), FRIDAY, content=b"told them\n", filename="note.txt")
    response = client.get(reverse("incident_file", args=[notice.pk]))
    assert response.content == b"told them\n"
    assert (response["Cache-Control"], "attachment" in response["Content-Disposition"]) == ("private, no-store", True)


def test_the_clock_of_a_corrected_notice_runs_again():
    paper = factories.authorization()
    limit = clock(paper)
    incident = factories.incident(papers=[paper], found_at=FRIDAY)
    (wrong,) = tell(incident, FRIDAY, [limit])
    values = {"told_at": FRIDAY, "told_whom": "another office", "how": "by phone", "told_by": "A. Clerk"}
    with pytest.raises(ValidationError, match="Say why it is corrected"):
        incident_notice_enter(actor=factories.person("lead"), incident=incident, supersedes=wrong, **values)
    incident_notice_enter(actor=factories.person("lead"), incident=incident, supersedes=wrong, reason="it was the wrong office", **values)
    (state,) = incident_clocks(with_clocks(Incident.objects.all()).get(), FRIDAY)
    assert state.is_running and IncidentNotice.objects.count() == 2
    with pytest.raises(ValidationError, match="corrected already"):
        incident_notice_enter(actor=factories.person("lead"), incident=incident, supersedes=wrong, reason="once more", **values)


def test_a_notice_is_corrected_on_screen(client):
    incident = factories.incident(papers=[factories.authorization()], found_at=FRIDAY)
    (wrong,) = tell(incident, FRIDAY)
    client.force_login(factories.person("coordinator"))
    address = reverse("incident_correct", args=[wrong.pk])
    assert "another office" not in client.get(address).content.decode()
    moment = timezone.localtime(FRIDAY) + datetime.timedelta(hours=1)
    data = {
        "told_at": f"{moment:%Y-%m-%dT%H:%M}",
        "told_whom": "another office",
        "how": "by phone",
        "told_by": "A",
        "reason": "it was the wrong office",
    }
    answer = client.post(address, data)
    assert answer.status_code == 302, answer.context["form"].errors
    page = client.get(reverse("incident_detail", args=[incident.pk])).content.decode()
    assert "another office" in page and "corrected: it was the wrong office" in page
