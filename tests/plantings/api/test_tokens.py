"""Access tokens: the rights of one person, for as long as the token and the person are there, and no longer."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from registry.access.request_rate import RequestRate
from registry.models import AccessToken, AuditEntry
from registry.selectors.audit.verify_states import state_faults
from registry.services.people.tokens import token_revoke
from registry.views.shared import json_api
from tests import factories
from tests.people import everyone
from tests.plantings.api.api_world import ask, token_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def people():
    found = everyone()
    factories.planting(site=factories.site(code="MINE", partner=found["landowner"].partner))
    factories.site(code="OTHER")
    return found


def test_a_lead_issues_a_token_that_is_shown_once(client, people):
    client.force_login(people["lead"])
    page = reverse("person_token", args=[people["auditor"].pk])
    ends_on = timezone.localdate() + datetime.timedelta(days=90)
    response = client.post(page, {"purpose": "yearly figures", "ends_on": ends_on.isoformat()})
    secret = response.context["secret"]
    assert response.headers["Cache-Control"] == "no-store" and response.content.decode().count(secret) == 1
    token = AccessToken.objects.get()
    stored = [*AccessToken.objects.values_list(), *AuditEntry.objects.values_list()]
    assert secret not in str(stored) and secret.removeprefix("mastbook_") not in str(stored)
    assert AuditEntry.objects.get(verb="accesstoken.issued").changes["person"] == [None, people["auditor"].username]
    assert ask(client, "sites", secret).status_code == 200
    token.refresh_from_db()
    assert token.used_on == timezone.localdate()
    client.force_login(people["coordinator"])
    listed = client.get(reverse("accesstoken_list")).content.decode()
    assert "yearly figures" in listed and "works until" in listed and "revoke" not in listed


def test_only_a_lead_issues_or_revokes_and_only_for_who_is_there(people):
    gone = factories.person("manager", left_on=timezone.localdate())
    for actor, person, days, words in (
        (people["coordinator"], people["auditor"], 1, "Only a programme lead"),
        (people["lead"], gone, 1, "is not active"),
        (people["lead"], people["auditor"], 400, "Enter a day from today to"),
        (people["lead"], people["auditor"], -1, "Enter a day from today to"),
    ):
        with pytest.raises(ValidationError, match=words):
            token_of(person, actor, days)
    token, _secret = token_of(people["lead"], people["lead"])
    with pytest.raises(ValidationError, match="Only a programme lead"):
        token_revoke(actor=people["coordinator"], token=token)


def test_a_token_reads_what_its_person_may_and_no_more(client, people):
    secrets = {who: token_of(people[who], people["lead"])[1] for who in ("lead", "landowner", "other landowner", "volunteer")}
    seen = {who: {row["code"] for row in ask(client, "sites", secret).json()["rows"]} for who, secret in secrets.items()}
    assert (seen["landowner"], seen["other landowner"]) == ({"MINE"}, set()) and {"MINE", "OTHER"} <= seen["lead"]
    statuses = {(who, name): ask(client, name, secrets[who]).status_code for who in secrets for name in ("survival", "data", "lots")}
    assert {key for key, status in statuses.items() if status == 403} == {
        ("landowner", "data"), ("landowner", "lots"), ("other landowner", "data"), ("other landowner", "lots"),
        ("volunteer", "survival"), ("volunteer", "data"), ("volunteer", "lots"),
    }  # fmt: skip
    assert set(statuses.values()) == {200, 403}
    # a token opens no page, and changes nothing
    header = {"Authorization": f"Bearer {secrets['lead']}"}
    assert client.get(reverse("survival"), headers=header).status_code == 302
    refused = Client(enforce_csrf_checks=True).post(reverse("api_survival"), headers=header)
    assert (refused.status_code, refused.headers["Allow"]) == (405, "GET, HEAD, OPTIONS")


def test_a_token_ends_with_its_day_its_person_or_a_revocation(client, people):
    def status(change=None):
        token, secret = token_of(person := factories.person("manager"), people["lead"])
        if change:
            change(token, person)
        return ask(client, "sites", secret).status_code

    def leave(_token, person):
        person.left_on = timezone.localdate()
        person.save()

    def close(_token, person):
        person.is_active = False
        person.save()

    yesterday = timezone.localdate() - datetime.timedelta(days=1)
    assert status() == 200
    assert status(leave) == status(close) == 401
    assert status(lambda token, _person: token_revoke(actor=people["lead"], token=token)) == 401
    assert status(lambda token, _person: AccessToken.objects.filter(pk=token.pk).update(ends_on=yesterday)) == 401
    # a wrong token is not helped by a session that is open beside it
    client.force_login(people["lead"])
    response = client.get(reverse("api_sites"), headers={"Authorization": "Bearer mastbook_é" + "x" * 5000})
    assert response.status_code == 401 and response.headers["WWW-Authenticate"].startswith("Bearer")
    assert "Ask a programme lead for another" in response.json()["detail"]


def test_too_many_requests_are_told_how_long_to_wait(client, people, monkeypatch):
    now = [0.0]
    monkeypatch.setattr(json_api, "RATE", RequestRate(most=2, window_s=60, clock=lambda: now[0]))
    secrets = [token_of(people[who], people["lead"])[1] for who in ("lead", "auditor")]
    assert [ask(client, "sites", secrets[0]).status_code for _ in range(3)] == [200, 200, 429]
    now[0] = 20
    refused = ask(client, "sites", secrets[0])
    assert (refused.headers["Retry-After"], refused.json()["status"]) == ("40", 429)
    assert ask(client, "sites", secrets[1]).status_code == 200
    now[0] = 61
    assert ask(client, "sites", secrets[0]).status_code == 200
    assert [ask(client, "sites", "guess").status_code for _ in range(3)] == [401, 401, 429]


def test_verify_finds_a_token_that_was_given_to_somebody_else(people):
    token, _secret = token_of(people["auditor"], people["lead"])
    AccessToken.objects.filter(pk=token.pk).update(used_on=timezone.localdate())
    assert [fault for fault in state_faults()[1] if "token" in fault] == []
    AccessToken.objects.filter(pk=token.pk).update(person=people["lead"])
    assert any("token" in fault for fault in state_faults()[1])
