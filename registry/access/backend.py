"""Signing in, and staying signed in, for active people only."""

from django.contrib.auth.backends import ModelBackend
from django.utils import timezone

from registry.access.active import is_present


class PresentBackend(ModelBackend):
    """Nobody signs in from the day they leave, and an open session ends on it."""

    def user_can_authenticate(self, user):
        return is_present(user, timezone.localdate())
