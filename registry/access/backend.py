"""Signing in, and staying signed in, for active people only."""

from django.contrib.auth.backends import ModelBackend
from django.utils import timezone

from registry.access.active import is_active_on


class PresentBackend(ModelBackend):
    """Nobody signs in from the day they leave, and an open session ends on it."""

    def user_can_authenticate(self, user):
        return is_active_on(user, timezone.localdate())
