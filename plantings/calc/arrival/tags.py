"""The tag that was read at a place, set beside the register of the planting."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from plantings.calc.census.measurements import ERROR, WARNING
from plantings.calc.results import Finding
from registry.calc.shared.marked import gettext_noop


class Place(NamedTuple):
    """A place in a planting: the code of its block ("" for none), row and position, whole numbers from 1."""

    block: str
    row: int
    position: int

    @property
    def words(self) -> str:
        return f"{self.block and f'block {self.block}, '}row {self.row}, position {self.position}"


class TagRead(NamedTuple):
    """A tag as it came in, and the place where it was read; None where only the tag is given."""

    tag: str
    place: Place | None = None


def tag_findings(
    read: Sequence[TagRead], register: Mapping[str, Place | None], old_tags: Mapping[str, str] | None = None
) -> dict[int, tuple[Finding, ...]]:
    """What does not agree between tags, places and the register of one planting.

    Parameters
    ----------
    read : sequence of TagRead
    register : mapping of {tag: Place, or None for a tree without a position}
    old_tags : mapping of {earlier tag: present tag}, optional

    Returns
    -------
    dict of {number of the line in `read`, from 0: tuple of Finding}
        An unknown tag is an error, since nothing can be stored for it; everything else a warning.

    Source
    ------
    Common practice of permanent plots, no source: a wrong tag number is the one error without a tolerance.

    Examples
    --------
    >>> register = {"101": Place("1", 1, 1), "102": Place("1", 1, 2)}
    >>> found = tag_findings([TagRead("101", Place("1", 1, 2)), TagRead("102")], register)
    >>> [finding.message for finding in found[0]]
    ['Tag 101 is at block 1, row 1, position 1 in the register, and was read at block 1, row 1, position 2, the place of 102.']
    """
    old_tags = old_tags or {}
    at = {place: tag for tag, place in register.items() if place}
    places, tags = defaultdict(set), defaultdict(set)
    for line in read:
        if line.place:
            places[line.tag].add(line.place)
            tags[line.place].add(line.tag)
    found = {}
    for number, line in enumerate(read):
        if line.tag not in places and line.tag in register:
            continue  # a tag of the planting, read without a place: nothing to compare
        if findings := tuple(_of_line(line, register, old_tags, at, places, tags)):
            found[number] = findings
    return found


def _of_line(line, register, old_tags, at, places, tags):
    tag, place = line
    if tag not in register:
        yield _unknown(tag, place, old_tags, at)
        return
    known = register[tag]
    if place and known and place != known:
        words = gettext_noop("Tag %(tag)s is at %(known)s in the register, and was read at %(place)s.")
        values = {"tag": tag, "known": known.words, "place": place.words}
        if place in at:
            words = gettext_noop("Tag %(tag)s is at %(known)s in the register, and was read at %(place)s, the place of %(other)s.")
            values["other"] = at[place]
        yield Finding("tag", WARNING, words, values)
    if len(places[tag]) > 1:
        words = gettext_noop("Tag %(tag)s was read at %(count)s places. Find out which tree carries it.")
        yield Finding("tag", WARNING, words, {"tag": tag, "count": len(places[tag])})
    # a tree and the one that replaced it have one place in the register
    if place and len(tags[place]) > 1 and any(register.get(other) != place for other in tags[place]):
        words = gettext_noop("Several tags were read at %(place)s: %(tags)s.")
        yield Finding("position", WARNING, words, {"place": place.words, "tags": ", ".join(sorted(tags[place]))})


def _unknown(tag, place, old_tags, at):
    if tag in old_tags:
        words = gettext_noop("Tag %(tag)s is an earlier tag of tree %(now)s. Use its present tag.")
        return Finding("tag", ERROR, words, {"tag": tag, "now": old_tags[tag]})
    if place in at:
        words = gettext_noop("Tag %(tag)s is not in the register of this planting. At %(place)s it has tree %(other)s.")
        return Finding("tag", ERROR, words, {"tag": tag, "place": place.words, "other": at[place]})
    words = gettext_noop("Tag %(tag)s is not in the register of this planting. Check the tag, or load the tree first.")
    return Finding("tag", ERROR, words, {"tag": tag})
