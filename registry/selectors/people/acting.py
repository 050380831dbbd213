"""Who a command acts as."""

from registry.access import roles
from registry.models import Person

__all__ = ["acting_person"]


def acting_person(username=""):
    """The active account of a sign-in name, or the first lead without one. Raises `Person.DoesNotExist`, in words."""
    people = Person.objects.filter(is_active=True)
    found = people.filter(username=username).first() if username else people.filter(role=roles.LEAD).order_by("pk").first()
    if found is None:
        raise Person.DoesNotExist(
            f"There is no active account '{username}'." if username
            else "There is no lead yet. Make the first account with: manage.py lead USERNAME EMAIL"
        )  # fmt: skip
    return found
