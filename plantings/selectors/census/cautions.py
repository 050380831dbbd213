"""Reads of who confirmed on a phone that they had read the cautions of a round."""

from plantings.models import CautionsRead

__all__ = ["cautions_read_in", "cautions_read_of_plantings", "readers_by_round"]


def cautions_read_in(user, census_round):
    """The readings of a round that a person may see, the last first."""
    return CautionsRead.objects.for_user(user).filter(round=census_round).select_related("entered_by", "link").order_by("-read_at", "-pk")


def readers_by_round(user, rounds):
    """{round pk: (names of who read its cautions, …)} in any wording, as far as a person may see them. One query."""
    found = {}
    readings = CautionsRead.objects.for_user(user).filter(round__in=rounds)
    for pk, name in readings.order_by("name").values_list("round", "name").distinct():
        found[pk] = (*found.get(pk, ()), name)
    return found


def cautions_read_of_plantings(plantings):
    """The readings at some plantings, given by their keys, in the order they were made. One query."""
    readings = CautionsRead.objects.filter(round__planting__in=plantings)
    return tuple(readings.select_related("round__planting", "link", "entered_by").order_by("read_at", "pk"))
