"""Signing in, and a new password by mail. Nobody registers themselves."""

import re

import pytest
from django.urls import NoReverseMatch, reverse

from tests import factories
from tests.people import signs_in

pytestmark = pytest.mark.django_db


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
