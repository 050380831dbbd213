"""Signing in, and a new password by mail. Nobody registers themselves."""

import re
from datetime import timedelta

import pytest
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from registry.models import PasswordAsked
from registry.services.people.sign_in import password_asked
from tests import factories
from tests.people import signs_in

pytestmark = pytest.mark.django_db


def test_an_address_that_grows_by_its_small_letters_is_counted(client):
    """PostgreSQL took none of more than 254 characters, and the page failed; U+0390 becomes three (Unicode, CaseFolding.txt)."""
    address = "a@" + ".".join(["\u0390" * 60] * 4) + ".org"
    for _ in range(4):
        assert client.post(reverse("password_reset"), {"email": address}).status_code == 302
    rows = PasswordAsked.objects.order_by("pk")
    assert [len(row.email) for row in rows] == [254] * 4
    assert [row.within_limits for row in rows] == [True] * 3 + [False]


def test_a_new_password_is_set_by_the_mailed_link(client, mailoutbox):
    person = factories.person("volunteer", username="r.counter")
    page = client.post(reverse("password_reset"), {"email": person.email})
    assert page.url == reverse("password_reset_done")
    [mail] = mailoutbox
    assert mail.to == [person.email]
    assert "<" not in mail.body  # the plain text is plain
    link = re.search(r"http://testserver(/password/\S+)", mail.body).group(1)
    form = client.get(link, follow=True)
    new = "a quite new long phrase"
    done = client.post(form.redirect_chain[-1][0], {"new_password1": new, "new_password2": new})
    assert done.url == reverse("password_reset_complete")
    assert signs_in(client, "r.counter", new)
    # the link works once
    assert "form" not in client.get(link, follow=True).context or not client.get(link, follow=True).context["validlink"]


def test_an_unknown_address_gets_the_same_answer_and_no_mail(client, mailoutbox):
    page = client.post(reverse("password_reset"), {"email": "nobody@example.org"})
    assert page.url == reverse("password_reset_done")
    assert mailoutbox == []


def test_mails_for_one_person_are_limited_without_a_word(client, mailoutbox):
    person = factories.person("volunteer")
    answers = [client.post(reverse("password_reset"), {"email": email}) for email in (person.email, person.email.upper()) * 3]
    assert {(page.status_code, page.url) for page in answers} == {(302, reverse("password_reset_done"))}
    assert len(mailoutbox) == 3  # the fourth within an hour is one too many: common practice
    unknown = [client.post(reverse("password_reset"), {"email": "nobody@example.org"}) for _time in range(5)]
    assert {(page.status_code, page.url) for page in unknown} == {(302, reverse("password_reset_done"))}
    rows = PasswordAsked.objects.order_by("pk").values_list("email", "within_limits")
    assert list(rows) == [(person.email, number < 3) for number in range(6)] + [("nobody@example.org", number < 3) for number in range(5)]


def test_mails_asked_for_from_one_address_are_limited(client, mailoutbox, caplog):
    people = [factories.person("volunteer") for _number in range(22)]
    for person in people:
        client.post(reverse("password_reset"), {"email": person.email}, REMOTE_ADDR="203.0.113.9")
    assert len(mailoutbox) == 20
    assert "20 were asked for from 203.0.113.9 within the hour" in caplog.text
    client.post(reverse("password_reset"), {"email": people[-1].email}, REMOTE_ADDR="203.0.113.10")
    assert mailoutbox[-1].to == [people[-1].email]


def test_after_an_hour_a_mail_goes_again_and_old_rows_are_deleted(client, mailoutbox):
    person, now = factories.person("volunteer"), timezone.now()
    old = PasswordAsked.objects.create(at=now - timedelta(days=91), email="x@example.org", within_limits=True)
    said = [password_asked(email=person.email, address=None, now=now - timedelta(minutes=minutes)) for minutes in (62, 61, 59, 58, 57)]
    assert said == [True, True, True, False, False]  # what was refused keeps nobody from their mail for longer
    client.post(reverse("password_reset"), {"email": person.email})
    assert len(mailoutbox) == 1 and not PasswordAsked.objects.filter(pk=old.pk).exists()


def test_a_wrong_password_keeps_the_name_and_says_so(client):
    person = factories.person("lead")
    page = client.post(reverse("login"), {"username": person.username, "password": "wrong"})
    text = page.content.decode()
    assert page.status_code == 200
    assert f'value="{person.username}"' in text and "This sign-in name and password do not match." in text


def test_after_signing_in_one_lands_where_one_wanted_to_go(client):
    person = factories.person("lead")
    wanted = reverse("lot_list")
    page = client.get(wanted)
    assert page.url == f"{reverse('login')}?next={wanted}"
    page = client.post(page.url, {"username": person.username, "password": factories.PASSWORD})
    assert page.url == wanted


def test_signing_out_needs_a_post(client):
    client.force_login(factories.person("lead"))
    assert client.get(reverse("logout")).status_code == 405
    client.post(reverse("logout"))
    assert client.get(reverse("today")).status_code == 302


def test_there_is_no_registration():
    with pytest.raises(NoReverseMatch):
        reverse("register")
