"""Questions about an identity."""

from django.db.models import TextChoices


class EvidenceKind(TextChoices):
    GENOTYPE = "genotype", "genotype of the parents or of progeny"
    PHENOTYPE = "phenotype", "look of leaf, bud or twig"
    LABEL = "label", "label or tag checked"
    RECORD = "record", "record checked against its paper"


class EvidenceOutcome(TextChoices):
    SUPPORTS = "supports", "supports the identity"
    CONTRADICTS = "contradicts", "contradicts the identity"
    OPEN = "open", "leaves it open"


class Settlement(TextChoices):
    CONFIRMED = "confirmed", "confirmed: the identity holds"
    CORRECTED = "corrected", "corrected: the record was changed"


def evidence_kinds():
    return EvidenceKind.choices


def evidence_outcomes():
    return EvidenceOutcome.choices


def settlements():
    return Settlement.choices
