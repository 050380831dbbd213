"""Prints that were issued."""

from django.db.models import TextChoices


class IssuedKind(TextChoices):
    LABELS = "labels", "container labels"
    TAGS = "tags", "planting tags"
    PACKING_LIST = "packing_list", "packing list"
    LOT_LIFE = "lot_life", "history of a lot"
    IDENTITY_DRAFT = "identity_draft", "draft for a certificate of identity"
    HEALTH_DRAFT = "health_draft", "draft for a phytosanitary certificate"
    LETTERS = "letters", "letters about an identity in question"
    PERMIT_FILE = "permit_file", "permit file"
    ROUND_RESULT = "round_result", "result of a census round"
    ROGUING = "roguing", "evidence on an orchard mother"
    YEAR_REPORT = "year_report", "yearly report under a paper"


def issued_kinds():
    return IssuedKind.choices
