"""Tokens for the tests of the read-only interface, and asking with one."""

import datetime

from django.urls import reverse
from django.utils import timezone

from registry.services.people.tokens import token_issue


def token_of(person, actor, days=30):
    """(token, secret) for a person."""
    return token_issue(actor=actor, person=person, purpose="a script", ends_on=timezone.localdate() + datetime.timedelta(days=days))


def ask(client, name, secret, **query):
    """The answer to a program that sends a token, without the cookies of anybody."""
    client.logout()
    return client.get(reverse(f"api_{name}"), query, headers={"Authorization": f"Bearer {secret}"})
