"""The people every access test takes: one of each role of the table, and some who must see nothing."""

from django.urls import reverse

from registry.access import roles
from tests import factories

UNKNOWN_ROLE = "unknown role"


def names():
    """One of each role, a second one of each role that sees its own rows only, and somebody with a role nobody knows."""
    return [*roles.ROLES, *(f"other {role}" for role in sorted(roles.OWN_ROWS_ONLY)), UNKNOWN_ROLE]


def everyone():
    """{name: person}."""
    return {name: factories.person("archivist" if name == UNKNOWN_ROLE else name.removeprefix("other ")) for name in names()}


def signs_in(client, username, phrase):
    """Whether somebody who enters this name and password on the sign-in page is then signed in."""
    client.logout()
    client.post(reverse("login"), {"username": username, "password": phrase})
    return "_auth_user_id" in client.session
