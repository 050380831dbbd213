"""A planting over its rounds: what each position was at each of them, for a map of every round."""

from dataclasses import dataclass

import numpy as np

from plantings.calc.census.fate import Fate
from plantings.calc.census.measurements import HEIGHT
from plantings.calc.census.planting_fates import histories
from plantings.models import Observation
from plantings.selectors.census.tallies import FATE_KEYS, RECORD_FIELDS, lay_out
from plantings.selectors.plantings.complete_rounds import parts_not_complete

__all__ = ["FILM_TREES_MAX", "FilmRound", "PlantingFilm", "planting_film"]

FILM_TREES_MAX = 1_000  # more make a page of over 300 KB; then a block is chosen
_LIVING = (Fate.ALIVE, Fate.ALIVE_RESPROUT)


@dataclass(frozen=True, slots=True)
class FilmRound:
    """One round: its label, growing seasons, whether it is complete, and for each place in walk order the fate (a `TreeFate`), the height
    in cm and the canker class, both None where no living tree has a reading."""

    label: str
    growing_seasons: int
    is_complete: bool
    fates: tuple
    heights: tuple
    cankers: tuple


@dataclass(frozen=True, slots=True)
class PlantingFilm:
    """The places (block, row, position) of the trees as planted, in walk order, and the rounds that have records.

    `unplaced` trees have no row and position; `replacements` are trees planted later at the place of another. Neither is drawn.
    """

    places: tuple
    rounds: tuple[FilmRound, ...]
    unplaced: int
    replacements: int


def planting_film(planting, user, block=None):
    """The film of the trees that a person may see, with the fates that the tallies use. Four queries, of all trees or one block."""
    trees = planting.trees.for_user(user).in_walk_order()
    if block is not None:
        trees = trees.filter(block__code=block) if block else trees.filter(block__isnull=True)
    listed = list(trees.values_list("pk", "block__code", "row", "position", "replaces_id"))
    drawn = [tree for tree in listed if tree[2] is not None and tree[4] is None]
    replacements = sum(tree[4] is not None for tree in listed)
    rounds = list(planting.rounds.order_by("opens_on"))
    line = {tree[0]: number for number, tree in enumerate(drawn)}
    column = {item.pk: number for number, item in enumerate(rounds)}
    records = Observation.objects.for_user(user).counting().filter(round__planting=planting).order_by("observed_on", "pk")
    rows = [row for row in records.values_list(*RECORD_FIELDS, HEIGHT.field) if row[0] in line] if drawn and rounds else []
    laid_out = lay_out((row[: len(RECORD_FIELDS)] for row in rows), list(line), list(column), [""])
    heights = np.full(laid_out.status.shape, np.nan)
    for tree, round_pk, *_rest, height in rows:
        if height is not None:
            heights[line[tree], column[round_pk]] = height
    with_records = np.flatnonzero(laid_out.status.any(axis=0))
    used = with_records[-1] + 1 if with_records.size else 0
    fates = histories(laid_out.status[:, :used]).fate if used else laid_out.status
    in_progress = set(parts_not_complete().filter(round__planting=planting, sown=False).values_list("round", flat=True))
    return PlantingFilm(
        places=tuple((code or "", row, position) for _pk, code, row, position, _replaces in drawn),
        rounds=tuple(
            _film_round(
                rounds[number], rounds[number].pk not in in_progress, fates[:, number], heights[:, number], laid_out.canker[:, number]
            )
            for number in with_records
        ),
        unplaced=sum(tree[2] is None and tree[4] is None for tree in listed),
        replacements=replacements,
    )


def _film_round(item, is_complete, fates, heights, cankers):
    living = np.isin(fates, _LIVING)
    return FilmRound(
        label=item.label, growing_seasons=item.growing_seasons, is_complete=is_complete,
        fates=tuple(FATE_KEYS[fate] for fate in fates.tolist()),
        heights=tuple(value if alive and value == value else None for alive, value in zip(living.tolist(), heights.tolist(), strict=True)),
        cankers=tuple(value if alive and value >= 0 else None for alive, value in zip(living.tolist(), cankers.tolist(), strict=True)),
    )  # fmt: skip
