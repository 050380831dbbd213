"""Roles, as the permission table declares them."""

from django.conf import settings

from registry.access import roles


def language_choices():
    """The languages of Mastbook, each in its own word."""
    return list(settings.LANGUAGES)


def role_choices():
    return list(roles.ROLES.items())
