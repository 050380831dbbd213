"""Wrong passwords lock a sign-in for a while, by person and by address; the office unlocks it. A sign-in ends by itself."""

import re
from datetime import timedelta

import pytest
from axes.models import AccessAttempt, AccessFailureLog
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from registry.access.sign_in import SIGNED_IN_AT, client_address
from registry.models import AuditEntry
from tests import factories
from tests.people import signs_in

pytestmark = pytest.mark.django_db

RIGHT = factories.PASSWORD


def attempt(username, phrase="wrong", address="198.51.100.7", browser="A", client=None):
    client = client or Client()
    return client.post(reverse("login"), {"username": username, "password": phrase}, REMOTE_ADDR=address, headers={"user-agent": browser})


def is_locked(username, **given):
    return attempt(username, RIGHT, **given).status_code == 429


def wait(**time):
    """Time passes: what was counted is that much older."""
    for model in (AccessAttempt, AccessFailureLog):
        for row in model.objects.all():
            model.objects.filter(pk=row.pk).update(attempt_time=row.attempt_time - timedelta(**time))


def test_ten_wrong_passwords_lock_one_person_from_everywhere():
    person, other = factories.person("lead"), factories.person("manager")
    answers = [attempt(person.username, address=f"198.51.100.{number}", browser=f"{number}") for number in range(10)]
    assert [answer.status_code for answer in answers] == [200] * 9 + [429]
    assert is_locked(person.username, address="203.0.113.9")
    assert attempt(other.username, RIGHT).status_code == 302


def test_a_name_too_long_for_an_account_is_refused_and_not_counted():
    """PostgreSQL has no room for it among the names that are counted: the page failed there."""
    page = attempt("x" * 151)
    assert page.status_code == 200 and "at most 150 characters" in page.content.decode()
    assert not AccessAttempt.objects.exists() and not AccessFailureLog.objects.exists()


def test_the_page_of_a_lock_says_what_to_do_and_keeps_the_name():
    person = factories.person("volunteer")
    for _ in range(10):
        page = attempt(person.username)
    text = page.content.decode()
    assert "Wait 15 minutes" in text and "unlock" in text and reverse("password_reset") in text
    assert f'value="{person.username}"' in text
    assert page.headers["Retry-After"] == "900"


def test_a_name_that_does_not_exist_gets_the_same_answers():
    person = factories.person("lead")
    seen = {
        name: [re.sub(r"csrf\S+ value=\S+|printed [^<]+", "", attempt(name).content.decode().replace(name, "")) for _ in range(11)]
        for name in (person.username, "nobody")
    }
    assert seen[person.username] == seen["nobody"]


def test_a_lock_ends_after_15_minutes_though_tries_go_on():
    person = factories.person("lead")
    for _ in range(10):
        attempt(person.username)
    wait(minutes=14)
    assert is_locked(person.username)
    wait(minutes=1, seconds=1)
    assert not is_locked(person.username)


def test_wrong_passwords_for_many_names_lock_the_address():
    for number in range(60):
        attempt(f"name{number}")
    person = factories.person("lead")
    assert is_locked(person.username)
    assert not is_locked(person.username, address="203.0.113.9")


def test_signing_in_forgets_the_wrong_tries_of_that_person_only():
    person, other = factories.person("lead"), factories.person("manager")
    for name in (person.username, other.username):
        for _ in range(9):
            attempt(name)
    assert attempt(person.username, RIGHT).status_code == 302
    assert attempt(person.username).status_code == 200
    assert attempt(other.username).status_code == 429


def test_a_hundred_in_a_row_lock_until_a_new_phrase_is_set_by_mail(client, mailoutbox):
    """NIST SP 800-63B-4, 3.2.2: at most 100 failed tries in a row on one account."""
    person = factories.person("lead")
    for _ in range(100):
        AccessFailureLog.objects.create(username=person.username, ip_address="198.51.100.7", http_accept="", path_info="/")
    wait(days=20)
    assert is_locked(person.username)
    client.post(reverse("password_reset"), {"email": person.email})
    link = re.search(r"http://testserver(/password/\S+)", mailoutbox[0].body).group(1)
    form = client.get(link, follow=True).redirect_chain[-1][0]
    client.post(form, {"new_password1": "walnut ferry ladder", "new_password2": "walnut ferry ladder"})
    assert attempt(person.username, "walnut ferry ladder").status_code == 302
    assert AuditEntry.objects.get(verb="person.unlocked").actor == person


def test_wrong_tries_are_logged_with_name_and_address_but_no_phrase(caplog):
    attempt("j.doe", "what i typed is secret")
    text = "\n".join(record.getMessage() for record in caplog.records)
    assert "j.doe" in text and "198.51.100.7" in text
    assert "secret" not in text
    stored = AccessAttempt.objects.get()
    assert "secret" not in stored.post_data + stored.get_data


def test_what_is_logged_of_wrong_tries_is_deleted_after_90_days():
    attempt("j.doe")
    wait(days=91)
    attempt("r.roe")
    assert list(AccessFailureLog.objects.values_list("username", flat=True)) == ["r.roe"]


def test_the_office_sees_a_lock_and_takes_it_away(client):
    person, coordinator = factories.person("lead"), factories.person("coordinator")
    client.force_login(coordinator)
    page, unlock = reverse("person_detail", args=[person.pk]), reverse("person_unlock", args=[person.pk])
    assert "locked" not in client.get(page).content.decode()
    for _ in range(10):
        attempt(person.username)
    text = client.get(page).content.decode()
    assert "locked after wrong passwords until" in text and unlock in text
    assert "Ask" in client.get(unlock).content.decode()
    assert client.post(unlock).url == page
    assert not is_locked(person.username)
    entry = AuditEntry.objects.get(verb="person.unlocked")
    assert (entry.actor, entry.record_id) == (coordinator, person.pk)


@pytest.mark.parametrize(
    ("tls", "sent", "peer", "expected"),
    [
        (False, "203.0.113.9", "127.0.0.1", "127.0.0.1"),  # anybody may send the header: it counts only behind the proxy
        (True, "203.0.113.9", "127.0.0.1", "203.0.113.9"),
        (True, "192.0.2.1, 203.0.113.9", "127.0.0.1", "203.0.113.9"),  # the first was sent by the browser
        (True, "nonsense", "127.0.0.1", "127.0.0.1"),
        (True, "", "2001:db8::1", "2001:db8::1"),
        (True, "", "", None),  # a socket of this machine
    ],
)
def test_the_address_of_a_sign_in(rf, settings, tls, sent, peer, expected):
    settings.TLS = tls
    assert client_address(rf.get("/", REMOTE_ADDR=peer, HTTP_X_FORWARDED_FOR=sent)) == expected


# how long a sign-in lasts ------------------------------------------------------------------------


def later(client, **time):
    session = client.session
    session[SIGNED_IN_AT] = (timezone.now() - timedelta(**time)).isoformat()
    session.save()


def is_signed_in(client):
    return client.get(reverse("today")).status_code == 200


@pytest.mark.parametrize("role", ["lead", "coordinator", "manager", "auditor"])
def test_the_office_signs_in_again_after_a_week(client, role):
    assert signs_in(client, factories.person(role).username, RIGHT)
    later(client, days=6, hours=23)
    assert is_signed_in(client)
    later(client, days=7, minutes=1)
    assert not is_signed_in(client)
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize("role", ["volunteer", "landowner"])
def test_in_the_field_a_sign_in_lasts_a_season(client, role):
    assert signs_in(client, factories.person(role).username, RIGHT)
    later(client, days=119)
    assert is_signed_in(client)
    later(client, days=120, minutes=1)
    assert not is_signed_in(client)


def test_using_the_site_does_not_make_a_sign_in_last_longer(client):
    assert signs_in(client, factories.person("lead").username, RIGHT)
    began = client.session[SIGNED_IN_AT]
    assert is_signed_in(client)
    assert client.session[SIGNED_IN_AT] == began


def test_a_volunteer_who_joins_the_office_has_the_week_of_the_office(client):
    person = factories.person("volunteer")
    assert signs_in(client, person.username, RIGHT)
    later(client, days=8)
    person.role = "manager"
    person.save()
    assert not is_signed_in(client)


def test_a_form_that_was_open_when_the_week_ended_is_still_saved(client):
    assert signs_in(client, factories.person("lead").username, RIGHT)
    later(client, days=7, hours=11)
    values = {"name": "Juglans cinerea", "role": "native"}
    assert client.post(reverse("taxon_add"), values).url.startswith("/taxa/")
    later(client, days=7, hours=13)
    assert client.post(reverse("taxon_add"), values | {"name": "Juglans nigra"}).url.startswith("/sign-in/")


def test_a_session_from_before_sign_ins_were_noted_has_ended(client):
    assert signs_in(client, factories.person("lead").username, RIGHT)
    session = client.session
    del session[SIGNED_IN_AT]
    session.save()
    assert not is_signed_in(client)
