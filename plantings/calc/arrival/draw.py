"""The draw of the trees that a second person measures again. Anybody can repeat it from what is stored: the tags in walk order, the
seed and the number of trees.

The walk is cut into as many stretches as trees are wanted, and one tree is drawn from each: so the sample is spread over blocks and
rows, over the hours of the day and over those who walked, however many trees each of these holds. Blocks or rows as strata were the
other way: a row often has fewer trees than one of twenty.
"""

import hashlib
from collections.abc import Sequence
from math import ceil
from typing import NamedTuple

__all__ = ["Candidate", "sample_size", "walk_draw"]


class Candidate(NamedTuple):
    """A tree that could be drawn: its tag, the stretch of the walk it is in (from 1), its number for the draw, whether it was drawn."""

    tag: str
    stretch: int
    number: str
    drawn: bool


def sample_size(trees: int, percent: float) -> int:
    """How many trees a share of all is: the next whole number above, at least 1, at most all.

    Parameters
    ----------
    trees : int
        Trees to draw from, 1 or more.
    percent : float
        Above 0, up to 100.

    Returns
    -------
    int
        A number of trees, 1 to `trees`.

    Source
    ------
    A definition of this programme.

    Examples
    --------
    >>> sample_size(200, 10), sample_size(33, 10), sample_size(4, 5)
    (20, 4, 1)
    """
    return min(trees, max(1, ceil(round(trees * percent / 100, 9))))


def walk_draw(tags: Sequence[str], size: int, seed: str) -> tuple[Candidate, ...]:
    """All candidates in walk order, with those that are drawn marked.

    Parameters
    ----------
    tags : sequence of str
        Each once, in the order of the walk.
    size : int
        1 to the number of tags.
    seed : str

    Returns
    -------
    tuple of Candidate
        Of n stretches, stretch i holds the trees from i·N//n to (i + 1)·N//n - 1, counted from 0. The number of a tree is the SHA-256 of
        "seed:tag" in UTF-8, as 64 hexadecimal digits; the smallest of each stretch is drawn.

    Raises
    ------
    ValueError
        When a tag is there twice, or there are not as many tags as trees are wanted.

    Notes
    -----
    Each tree has a chance of one in the length of its stretch; lengths differ by 1 at most. The drawn trees are analysed like a simple
    random sample, which gives intervals that are rather too wide than too narrow where neighbours are alike.

    Source
    ------
    One unit per stratum along an order: Cochran 1977, Sampling Techniques, ch. 5 and 8 (from memory).

    Examples
    --------
    >>> found = walk_draw(["T1", "T2", "T3", "T4", "T5"], 2, "a seed")
    >>> [one.stretch for one in found], [one.tag for one in found if one.drawn]
    ([1, 1, 2, 2, 2], ['T2', 'T3'])
    """
    if len(set(tags)) != len(tags):
        raise ValueError("Each tag is a candidate once.")
    if not 1 <= size <= len(tags):
        raise ValueError(f"{size} trees cannot be drawn from {len(tags)}.")
    found: list[Candidate] = []
    for stretch in range(size):
        numbers = {tag: _number(seed, tag) for tag in tags[stretch * len(tags) // size : (stretch + 1) * len(tags) // size]}
        first = min(numbers, key=numbers.__getitem__)
        found += [Candidate(tag, stretch + 1, number, tag == first) for tag, number in numbers.items()]
    return tuple(found)


def _number(seed: str, tag: str) -> str:
    return hashlib.sha256(f"{seed}:{tag}".encode()).hexdigest()
