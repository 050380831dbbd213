"""The position map of a planting: every tree at its place, without a query for each."""

from dataclasses import dataclass

from django.db.models import Count
from django.urls import reverse

from plantings.choices import EntryRole
from plantings.selectors.plantings.plantings import exact_for, in_role_order

__all__ = ["MAP_TREES_MAX", "PositionMap", "block_counts", "letter_of", "position_map"]

_UNKNOWN = ("", "", EntryRole.TEST)  # the letter, lot and role of a tree whose lot is not shown
# More trees than this make a page slow to read and to draw; then the map shows one block at a time.
MAP_TREES_MAX = 600


@dataclass(frozen=True, slots=True)
class PlacedTree:
    """What the map draws of one tree. `entry` is the letter of its lot and role."""

    row: int
    position: int
    fate: str
    label: str
    role: str
    entry: str
    url: str
    block: str


@dataclass(frozen=True, slots=True)
class PositionMap:
    """`placed` trees in walk order, `loose` ones (without row and position) as (pk, tag, block, lot, fate), `measured` ones as (longitude,
    latitude, fate)."""

    placed: list
    loose: list
    letters: list
    start: tuple | None
    measured: list


def block_counts(planting):
    """[(block code or "", trees)] in the order a crew meets the blocks."""
    counts = dict(planting.trees.order_by().values_list("block__code").annotate(n=Count("pk")))
    walked = dict.fromkeys(planting.trees.in_walk_order().values_list("block__code", flat=True))
    return [(code or "", counts[code]) for code in walked]


def position_map(planting, user, block=None):
    """The places of the trees of a planting that a person may see, or of one block by its code. Two queries.

    For whoever should not know the lots, all trees look alike: no letter, no role. Whoever does not see exact places gets no points.
    """
    letters = _entry_letters(planting) if user.may("tree.lot") else {}
    trees = planting.trees.for_user(user).in_walk_order()
    if block is not None:
        trees = trees.filter(block__code=block) if block else trees.filter(block__isnull=True)
    placed, loose, measured = [], [], []
    exact = exact_for(user)
    columns = ("pk", "tag", "row", "position", "fate", "entry_id", "block__code", "longitude", "latitude")
    for pk, tag, row, position, fate, entry, code, longitude, latitude in trees.values_list(*columns):
        letter, lot, role = letters.get(entry, _UNKNOWN)
        if exact and longitude is not None:
            measured.append((longitude, latitude, fate))
        if row is None:
            loose.append((pk, tag, code, lot, fate))
        else:
            placed.append(PlacedTree(row, position, fate, tag, role, letter, reverse("tree_detail", args=[pk]), code or ""))
    start = (placed[0].row, placed[0].position) if placed else None
    return PositionMap(placed, loose, list(letters.values()), start, measured)


def _entry_letters(planting):
    """{entry pk: (letter, lot code, role)}; letters run A to Z, then AA, AB …"""
    entries = in_role_order(planting.entries.select_related("lot"))
    return {entry.pk: (letter_of(number), entry.lot.code, entry.role) for number, entry in enumerate(entries)}


def letter_of(number):
    """A for 0, Z for 25, AA for 26."""
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
