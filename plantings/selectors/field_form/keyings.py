"""Two keyings of one page of a field form, compared cell by cell."""

import datetime
from dataclasses import dataclass
from decimal import Decimal

from plantings.calc.census.measurements import value_of
from plantings.calc.phone.clock import note_typed
from plantings.models import FormPage, Observation, PageKeying, Tree
from plantings.selectors.census.asked import asked_at
from plantings.selectors.census.rounds import records_by_tree
from plantings.selectors.census.second import first_people
from registry.access import roles
from registry.calc.people.names import share_a_person

__all__ = ["Comparison", "TreeDifference", "cells_of", "compared", "keyings_of", "keyings_to_settle", "other_records", "page_trees"]


@dataclass(frozen=True, slots=True)
class TreeDifference:
    """A tree whose two keyings differ, its record on file or None, and its cells that differ: (box, first text, second text)."""

    tree: Tree
    record: Observation | None
    cells: tuple

    @property
    def first(self):
        """{box: text} of the record, in the boxes that differ."""
        return {name: first for name, first, _second in self.cells}


@dataclass(frozen=True, slots=True)
class Comparison:
    """How many cells agree, the trees with cells that do not, and the two days where those differ on the whole page, else None."""

    same: int
    trees: tuple[TreeDifference, ...]
    days: tuple[datetime.date, datetime.date] | None

    @property
    def differing(self):
        return sum(len(tree.cells) for tree in self.trees) + (self.days is not None)


def page_trees(page, user=None):
    """The trees of a FormPage, in its order; with a user those they may see. One query."""
    place = {pk: number for number, pk in enumerate(page.trees)}
    trees = Tree.objects.for_user(user) if user else Tree.objects.all()
    trees = trees.filter(pk__in=place, planting=page.round.planting_id).select_related("block", "planting")
    return sorted(trees, key=lambda tree: place[tree.pk])


def keyings_of(page):
    """{number: PageKeying} of a page. One query."""
    return {keying.number: keying for keying in page.keyings.select_related("entered_by", "settlement")}


def other_records(page, user):
    """{tree pk: its record} of a page that nobody has keyed, whose records came by phone, by a sheet or by the grid of the round: what a
    keying of the page can be compared with. Empty where this person made any of them, as for a second measurement. One query."""
    found = {pk: records[-1] for pk, records in records_by_tree(page.round, page.trees).items()}
    is_own = user.role in roles.OWN_ROWS_ONLY
    for record in found.values():
        if share_a_person(first_people(record), str(user)) or (is_own and record.entered_by_id == user.pk):
            return {}
    return found


def keyings_to_settle(user, census_round):
    """The second keyings of a round that wait to be settled. One query."""
    keyings = PageKeying.objects.for_user(user).to_settle().filter(page__round=census_round)
    return keyings.select_related("page", "entered_by").order_by("page__form", "page__number")


def cells_of(row, asked):
    """{box: text} of what a record, or a row on its way in, says; blank boxes are left out."""
    found = {"status": row.status, "cause": row.cause, "note": " ".join(row.note.split())}
    found |= {item.field: _text(value_of(row, item)) for item in asked}
    return {name: text for name, text in found.items() if text}


def _text(value):
    if isinstance(value, (int, float, Decimal)):
        return f"{Decimal(str(value)).normalize():f}"
    return "" if value is None else str(value)


def _is_keyed(record, first_keying):
    """Whether a record may be from the first keying of a page, or corrects one that may be; none is where nobody keyed it first."""
    if first_keying is None:
        return False
    if record.supersedes_id:
        return True
    return record.entered_by_id == first_keying.entered_by_id and record.received_at >= first_keying.entered_at


def compared(page: FormPage, cells, observed_on):
    """The Comparison of a second keying, {tree key: {box: text}}, with the records on file. Four queries.

    Letters of notes may be large or small. A blank box agrees with a blank box, and is not counted. A tree that the second keying leaves
    blank differs only where the first keying filled it in: what came by phone or otherwise is not on the page.
    """
    first_keying = page.keyings.filter(number=1).first()
    asked = asked_at(page.round)
    names = ("status", "cause", *(item.field for item in asked), "note")
    records = records_by_tree(page.round, page.trees)
    same, found, days = 0, [], set()
    for tree in page_trees(page):
        record = records[tree.pk][-1] if tree.pk in records else None
        first, second = cells_of(record, asked) if record else {}, cells.get(str(tree.pk), {})
        if record and not second and not _is_keyed(record, first_keying):
            continue
        if "note" in first:
            first["note"] = note_typed(first["note"])  # without the day that a phone showed
        pairs = [(name, first.get(name, ""), second.get(name, "")) for name in names]
        differing = tuple(pair for pair in pairs if pair[1].casefold() != pair[2].casefold())
        same += sum(bool(one) for _name, one, _two in pairs) - sum(bool(one) for _name, one, _two in differing)
        if differing:
            found.append(TreeDifference(tree, record, differing))
        if record:
            days.add(record.observed_on)
    is_other_day = len(days) == 1 and observed_on not in days
    return Comparison(same, tuple(found), (days.pop(), observed_on) if is_other_day else None)
