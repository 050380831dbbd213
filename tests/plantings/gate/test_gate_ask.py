"""The gate asked about an activity: where it is follows from the site, and only the answer that was looked at is stored."""

import re

import pytest
from django.urls import reverse

from registry.models import Authorization, Determination
from registry.services.permits.authorizations import authorization_state_enter
from tests import factories
from tests.registry.gate.gate_records import permit, rule
from tests.registry.safety.test_cautions import caution

pytestmark = pytest.mark.django_db
VISIT = {"activity": "census_visit", "on": "2026-06-02"}


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


@pytest.fixture
def land(lead):
    """Two sites with an agreement each; that of the first is suspended."""
    first, second = factories.partner(code="PT-10", region="US-MI"), factories.partner(code="PT-01", kind="trust", region="US-VT")
    factories.site(code="ST-12", partner=first, jurisdiction="US-MI")
    factories.site(code="ST-01", partner=second, jurisdiction="US-VT")
    permit(lead, code="AGR-10", type="landowner", partner=first, limits={"destinations": []})
    authorization_state_enter(
        actor=lead,
        paper=Authorization.objects.get(code="AGR-10"),
        state="suspended",
        on=factories.day(2026, 3, 1),
        reason="the land was sold",
    )
    permit(lead, code="AGR-01", type="landowner", partner=second, limits={"destinations": []})


def ask(client, **data):
    return client.post(reverse("determination_ask"), VISIT | data)


def lines(answer):
    return {line["finding"]: line for line in answer.context["gate"]["lines"]}


def test_a_visit_needs_the_landowners_agreement(client, land):
    stopped = lines(ask(client, site="ST-12"))["Agreement with the landowner"]
    assert stopped["severity"] == "stop" and "AGR-10" in stopped["next_step"]
    met = lines(ask(client, site="st-01"))["Agreement with the landowner"]
    assert met["severity"] == "fine" and met["papers"][0][0] == "AGR-01"


def test_a_visit_without_site_or_partner_asks_for_one(client, land):
    assert "Name the site or the landowner first" in lines(ask(client))["Agreement with the landowner"]["next_step"]


def test_a_visit_to_the_programmes_own_land_needs_no_agreement(client, lead):
    factories.site(code="ST-OWN", partner=factories.partner(kind="own"))
    assert "Agreement with the landowner" not in lines(ask(client, site="ST-OWN"))


def test_an_unknown_site_is_refused_at_its_field(client, land):
    errors = ask(client, site="NOSITE").context["form"].errors
    assert errors["site"] == ["No site “NOSITE” is on file. Check the code, or leave this blank and say where it is and on whose land."]
    page = ask(client, site="ST-12", partner="PT-01", region="US-VT")
    errors = page.context["form"].errors
    assert "ST-12 is on the land of PT-10" in errors["partner"][0] and "ST-12 is in US-MI" in errors["region"][0]
    assert 'value="ST-12"' in page.content.decode() and "gate" not in page.context
    assert "errors" not in ask(client, site="ST-12", partner="PT-10", region="US").context


def test_rules_of_the_sites_place_apply_without_a_region(client, land):
    rule(code="EX-MI", title="Visits in Michigan", activities=["census_visit"], classes=[], destinations=["US-MI"])
    assert "Visits in Michigan" in lines(ask(client, site="ST-12"))
    assert "Visits in Michigan" not in lines(ask(client, site="ST-01"))


def test_the_answer_comes_before_the_cautions(client, lead):
    caution(task="inoculation", text="Keep the flame away from ethanol.")
    page = client.post(reverse("determination_ask"), {"activity": "inoculate", "on": "2026-06-02"}).content.decode()
    assert page.index('id="gate-title"') < page.index("Keep the flame away from ethanol.")


# -- keeping an answer -----------------------------------------------------------------------------------


def sent_to_keep(page):
    """What the button “Store this answer” of a page sends."""
    form = re.search(r'<form method="post">(.*?)name="store" value="yes"', page.content.decode(), re.S).group(1)
    return dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', form)) | {"store": "yes"}


def test_the_answer_shown_is_stored_whatever_was_typed_since(client, land):
    page = ask(client, site="ST-12", people="R. Ater")
    answer = client.post(reverse("determination_ask"), sent_to_keep(page))
    kept = Determination.objects.get()
    assert answer.status_code == 302 and (kept.verdict, kept.subject, kept.carried_out) == ("stop", "ST-12", False)
    assert kept.question["people"] == ["R. Ater"] and kept.question["destination"]["partner"] == "PT-10"


def test_an_answer_that_was_never_shown_is_not_stored(client, land):
    page = ask(client, site="ST-12", store="yes")
    assert not Determination.objects.exists()
    assert "not the answer you looked at" in page.content.decode() and "Agreement with the landowner" in lines(page)


@pytest.mark.parametrize("change", ["form", "book"])
def test_another_answer_than_the_one_shown_is_shown_first(client, lead, land, change):
    sent = sent_to_keep(ask(client, site="ST-12"))
    if change == "form":
        sent |= {"site": "ST-01"}
    else:
        rule(code="EX-MI", title="Visits in Michigan", activities=["census_visit"], classes=[], destinations=["US-MI"])
    page = client.post(reverse("determination_ask"), sent)
    assert not Determination.objects.exists() and "not the answer you looked at" in page.content.decode()
    client.post(reverse("determination_ask"), sent_to_keep(page))
    assert Determination.objects.count() == 1
