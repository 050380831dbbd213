"""Roles, as the permission table declares them."""

from registry.access import roles


def role_choices():
    return list(roles.ROLES.items())
