"""The clocks of an incident run in the time zone of its place. Zones of states: general knowledge; offsets by the IANA database."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo, available_timezones

import pytest
from django.urls import reverse

from registry.compliance.duties.place_zones import ZONE_NAMES, zone_of
from registry.compliance.shared.territories import DIVIDED, TERRITORIES
from registry.models import Incident, ReportingClock
from registry.selectors.duties.incidents import incident_clocks, limit_words, with_clocks
from registry.services.duties.incidents import incident_save
from tests import factories

pytestmark = pytest.mark.django_db
# 1 April 2026, 05:30 UTC: still 31 March in Wisconsin (00:30 there is 1 April; Hawaii is 31 March), already 1 April in New York
FOUND = datetime(2026, 4, 1, 5, 30, tzinfo=UTC)


def incident(lead, **fields):
    paper = factories.authorization()
    ReportingClock.objects.create(authorization=paper, title="written report", tell="Office", amount=5, unit="days")
    values = {"title": "Trees found outside", "what": "Two trees", "found_at": FOUND, "found_by": "A. Finder"} | fields
    saved = incident_save(actor=lead, incident=Incident(**values), papers=[paper])
    return with_clocks(Incident.objects.filter(pk=saved.pk)).get()


@pytest.fixture
def lead():
    return factories.person("lead")


def test_every_zone_is_in_the_database_of_zones():
    assert set(ZONE_NAMES) <= available_timezones()
    assert [zone_of(code) for code in ("US-HI", "CA-BC", "DE", "GB-NIR", "BR")] == [
        "Pacific/Honolulu", "America/Vancouver", "Europe/Berlin", "Europe/London", "",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("code", "zone"),
    [
        ("GU", "Pacific/Guam"),
        ("US-GU", "Pacific/Guam"),
        ("VI", "America/Puerto_Rico"),
        ("AS", "Pacific/Pago_Pago"),
        ("US-PR", "America/Puerto_Rico"),
        ("FR-974", "Indian/Reunion"),
        ("RE", "Indian/Reunion"),
        ("NL-BQ1", "America/Kralendijk"),
        ("BQ-BO", "America/Kralendijk"),
        ("NO-21", "Arctic/Longyearbyen"),
        ("TW-TPE", "Asia/Taipei"),
    ],
)
def test_a_territory_has_its_own_zone_under_either_code(code, zone):
    """Zones of territories: IANA zone.tab, from memory."""
    assert zone_of(code) == zone


def test_no_territory_falls_to_the_zone_of_its_country():
    assert [code for code in TERRITORIES if zone_of(code) != zone_of(TERRITORIES[code][0])] == []
    assert {"Europe/Paris", "Europe/Amsterdam", ""}.isdisjoint(map(zone_of, (*TERRITORIES, *DIVIDED)))


def test_the_clock_runs_in_the_zone_of_the_site(lead):
    site = factories.site(jurisdiction="US-HI", longitude=-155.5, latitude=19.7)
    there = incident(lead, site_code=site.code)
    (state,) = incident_clocks(there, FOUND)
    # discovered on 31 March in Hawaii (10 hours behind UTC): five days end with 5 April there
    assert state.limit.on.isoformat() == "2026-04-05"
    assert state.limit.at == datetime(2026, 4, 6, 0, 0, tzinfo=ZoneInfo("Pacific/Honolulu"))
    assert limit_words(state) == "the end of 5 Apr 2026 (Pacific/Honolulu)"


def test_without_a_place_the_zone_of_the_programme_counts(lead):
    (state,) = incident_clocks(incident(lead), FOUND)
    assert state.limit.on.isoformat() == "2026-04-06" and limit_words(state) == "the end of 6 Apr 2026 (America/New_York)"


def test_a_person_may_choose_the_zone(client, lead):
    made = incident(lead)
    client.force_login(lead)
    form = client.get(reverse("incident_edit", args=[made.pk])).context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "", [])}
    data |= {"found_at": "2026-04-01T01:30", "zone": "America/Chicago", "reason": "the site has no point"}
    answer = client.post(reverse("incident_edit", args=[made.pk]), data)
    assert answer.status_code == 302, answer.context["form"].errors
    page = client.get(reverse("incident_detail", args=[made.pk])).content.decode()
    assert "1 Apr 2026, 00:30 CDT (America/Chicago)" in page
