"""Code lists that pure code declares, as the choices of fields."""

from collections.abc import Mapping

from django.db.models import TextChoices


def text_choices(name: str, labels: Mapping[str, str]) -> type[TextChoices]:
    """The choices of a field from codes with their labels: each member has the name of its code in capitals."""
    return TextChoices(name, [(code.upper(), (code, label)) for code, label in labels.items()])
