"""Which rows count as verified: the same answer as `calc.shared.verified` gives, asked of the database."""

from django.db.models import Q

__all__ = ["is_verified"]


def is_verified(model, on):
    """The condition under which a row of a model with `verified_on` and `verified_by` counts as verified on a day."""
    fields = {field.name for field in model._meta.fields}
    found = Q(verified_on__isnull=False) & ~Q(verified_by="")
    if "verified_with" in fields:
        found &= ~Q(verified_with="")
    return found & (Q(review_by__isnull=True) | Q(review_by__gte=on)) if "review_by" in fields else found
