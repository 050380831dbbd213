"""Who is active on a day: the one place that says whether a person has left."""

from datetime import date


def is_active_on(person, on: date) -> bool:
    """Whether a person is active on a day: an open account whose day of leaving has not come. False for `None`."""
    return person is not None and person.is_active and (person.left_on is None or person.left_on > on)


def contact_on(name: str, person, on: date) -> str:
    """A contact of a paper on a day, named by an account or else only in words; "" when there is none or they have left."""
    if person is None:
        return name.strip()
    return str(person) if is_active_on(person, on) else ""
