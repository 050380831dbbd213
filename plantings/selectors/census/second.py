"""Reads about second measurements: which trees can be drawn, how far a draw is, and how far both people agree once it is handed in."""

from dataclasses import dataclass

from django.db.models import Count, F, Q
from django.utils.translation import gettext_noop, ngettext

from plantings.calc.arrival.quality import Seen, careful_words, quality_lines
from plantings.calc.census.codes import NOT_VISITED
from plantings.calc.census.measurements import value_of
from plantings.models import Observation, SecondDraw, SecondMeasurement, SecondTree, Tree
from plantings.selectors.census.asked import asked_at
from plantings.selectors.census.limits import tolerances
from registry.access import roles
from registry.calc.people.names import is_same_name, listed_people, share_a_person
from registry.calc.shared.part_dates import days_apart
from registry.models import Person
from registry.selectors.shared.local_words import local_count

__all__ = [
    "Quality",
    "SecondLine",
    "agreement_words",
    "draw_lines",
    "draws_listed",
    "drawable",
    "drawn_trees",
    "first_people",
    "handed_in_records",
    "is_handed_in",
    "left_trees",
    "may_correct_second",
    "observer_fault",
    "outside_open_draws",
    "quality_of",
    "recorded_values",
    "second_records",
]


@dataclass(frozen=True, slots=True)
class SecondLine:
    """A drawn tree with both records; `second` is None until somebody measured it again."""

    drawn: SecondTree
    second: SecondMeasurement | None

    tree = property(lambda line: line.drawn.tree)
    first = property(lambda line: line.drawn.first)


@dataclass(frozen=True, slots=True)
class Quality:
    """The result of a draw that is handed in: lines of all trees, [(first observer, lines)], and what may be said of it."""

    lines: tuple
    by_observer: list
    careful: tuple


def recorded_values(record, asked):
    """{field: value} of what a census record, or a row on its way in, says of the measurements asked."""
    values = {item.field: value_of(record, item) for item in asked}
    return {name: value for name, value in values.items() if value not in (None, "")}


def first_people(record):
    """The names of those who made a census record; whoever entered it, where none is given."""
    return record.observer or str(record.entered_by)


def drawable(census_round, measured_by):
    """The records of a round that a second person can measure again, one a tree, in walk order.

    Left out: trees not visited, trees in an earlier draw of the round, and those the second person recorded. Of two records of a tree
    the later one is taken, as it counts.
    """
    drawn = SecondTree.objects.filter(draw__round=census_round)
    records = Observation.objects.current().filter(round=census_round).exclude(tree__in=drawn.values("tree"))
    records = records.select_related("tree", "entered_by").order_by("tree__walk_number", "tree_id", "observed_on", "pk")
    by_tree = {record.tree_id: record for record in records}
    return [record for record in by_tree.values() if record.status != NOT_VISITED and not share_a_person(first_people(record), measured_by)]


def drawn_trees(draw):
    """The trees of a draw in walk order."""
    return Tree.objects.filter(second_trees__draw=draw).in_walk_order()


def left_trees(draw):
    """The keys of the trees of a draw without a second measurement."""
    return set(draw.trees.filter(measurements__isnull=True).values_list("tree", flat=True))


def outside_open_draws(records):
    """Records, less those of trees that somebody is about to measure again."""
    return records.exclude(tree__in=SecondTree.objects.filter(draw__in=SecondDraw.objects.open()).values("tree"))


def observer_fault(first, observer, actor):
    """Why somebody cannot be the second person at a tree, in words to translate; "" where they can."""
    if not observer.strip():
        return gettext_noop("Write who looked: a second measurement needs its own observer.")
    if share_a_person(first_people(first), observer) or (actor.role in roles.OWN_ROWS_ONLY and first.entered_by_id == actor.pk):
        return gettext_noop("Whoever recorded this tree first cannot measure it again. If it was another person, write the name in full.")
    return ""


def draws_listed(draws):
    """Draws with `measured`, the number of their trees that have a second measurement."""
    measured = Count("trees", filter=Q(trees__measurements__isnull=False, trees__measurements__supersedes__isnull=True))
    return draws.select_related("round__planting", "entered_by", "measurer").annotate(measured=measured).order_by("round", "number")


def is_handed_in(draw):
    return SecondDraw.objects.handed_in().filter(pk=draw.pk).exists()


def second_records(draw, trees):
    """{tree pk: its second measurement} of trees of a draw, for those that have one. One query."""
    records = SecondMeasurement.objects.current().filter(drawn__draw=draw, drawn__tree__in=trees)
    return {record.drawn.tree_id: record for record in records.select_related("drawn__draw", "entered_by")}


def may_correct_second(user, record):
    """Whether a person may correct a second measurement: the office any, whoever entered it their own until the draw is handed in."""
    own = record.entered_by_id == user.pk and user.may("census.enter") and not is_handed_in(record.drawn.draw)
    return user.may("observation.correct") or own


def draw_lines(draw):
    """The SecondLines of a draw in walk order. Two queries."""
    measured = SecondMeasurement.objects.current().filter(drawn__draw=draw).select_related("entered_by")
    second = {record.drawn_id: record for record in measured}
    trees = draw.trees.select_related("tree__block", "first__entered_by").order_by("tree__walk_number", "tree_id")
    lines = []
    for drawn in trees:
        drawn.draw = draw
        if record := second.get(drawn.pk):
            record.drawn = drawn
        lines.append(SecondLine(drawn, record))
    return lines


def handed_in_records(records, census_round):
    """The second measurements of a round whose draws are handed in, without those a later one corrected."""
    handed_in = SecondDraw.objects.handed_in().filter(round=census_round)
    return records.current().filter(drawn__draw__in=handed_in).select_related("drawn__draw__round__planting", "drawn__tree", "entered_by")


def quality_of(draw, lines):
    """The Quality of a draw from its lines, all of which have both records. Two queries."""
    asked, limits = asked_at(draw.round), tolerances()
    pairs = [(Seen(line.first.status, recorded_values(line.first, asked)), Seen(line.second.status, line.second.values)) for line in lines]
    of = {}
    for line, pair in zip(lines, pairs, strict=True):
        of.setdefault(first_people(line.first), []).append(pair)
    visited = [line for line in lines if line.second.status != NOT_VISITED]
    days = max((days_apart(line.first.observed_on, line.second.observed_on) for line in visited), default=0)
    office = [str(person) for person in Person.objects.filter(role__in=roles.OFFICE)]
    could_look = sum(any(is_same_name(name, one) for name in listed_people(line.second.observer) for one in office) for line in visited)
    return Quality(
        quality_lines(pairs, asked, limits),
        [(observer, quality_lines(found, asked, limits)) for observer, found in sorted(of.items())],
        careful_words(len(draw.candidates), draw.size, pairs, days, could_look),
    )


def agreement_words(rounds):
    """How far second measurements of some rounds agree, in one sentence; "" where none is handed in. One query, or none
    without rounds."""
    if not rounds:
        return ""
    handed_in = SecondDraw.objects.handed_in().filter(round__in=rounds)
    records = SecondMeasurement.objects.current().filter(drawn__draw__in=handed_in).exclude(status=NOT_VISITED)
    found = records.aggregate(trees=Count("pk"), same=Count("pk", filter=Q(status=F("drawn__first__status"))))
    if not found["trees"]:
        return ""
    words = ngettext(
        "A second person looked at %(n)s tree again: %(same)s with the same status.",
        "A second person looked at %(n)s trees again: %(same)s with the same status.",
        found["trees"],
    )
    return words % {"n": local_count(found["trees"]), "same": local_count(found["same"])}
