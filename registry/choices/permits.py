"""Papers: what they are, and how what happens under them is counted. Types and states are those of the gate."""

from django.db.models import TextChoices

from registry.choices.labels import text_choices
from registry.compliance.gate.words import STATE_LABELS, TYPES

AuthorizationType = text_choices("AuthorizationType", TYPES)
AuthorizationState = text_choices("AuthorizationState", STATE_LABELS)


class DrawKind(TextChoices):
    SHIPPED = "shipped", "shipped under it"
    PLANTED = "planted", "planted under it"
    RETURNED = "returned", "given back to the cap"
    OPENING = "opening", "used before these records began"


# begins the reason of what a dispatch gives back to a cap once it is taken back
DISPATCH_TAKEN_BACK = "dispatch taken back: "


def authorization_types():
    return AuthorizationType.choices


def authorization_states():
    return AuthorizationState.choices


def draw_kinds():
    return DrawKind.choices
