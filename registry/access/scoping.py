"""The row rule: which rows of a record type a person sees. Fail closed.

Each model declares `SCOPE = {role: "*" | lookup}`. A lookup is compared with the person's own key:
the partner for a landowner contact, the person for a volunteer. A role that is not listed gets nothing.
"""

from django.db import models

from registry.access import roles

ALL = "*"
STAFF, OFFICE, READERS, EVERYONE = (dict.fromkeys(group, ALL) for group in (roles.STAFF, roles.OFFICE, roles.READERS, roles.EVERYONE))


def sees_all(user, model):
    """Whether a person sees every row of a record type."""
    return user.is_authenticated and user.is_active and model.SCOPE.get(user.role) == ALL


def scope_key(user, role):
    return user.partner_id if role == roles.LANDOWNER else user.pk


class ScopedQuerySet(models.QuerySet):
    def for_user(self, user):
        if not user.is_authenticated or not user.is_active:
            return self.none()
        rule = self.model.SCOPE.get(user.role)
        if rule is None:
            return self.none()
        if rule == ALL:
            return self
        key = scope_key(user, user.role)
        if key is None:
            return self.none()
        # a sub-query, not a join: the row rule must never multiply rows under a later count or sum
        return self.filter(pk__in=self.model._base_manager.filter(**{rule: key}).values("pk"))
