"""Reads about ratings: each with the checks of its day, and which of them were not corrected."""

from collections import defaultdict
from dataclasses import dataclass, replace

from django.db.models import Q

from registry.calc.orchard.ratings import Comparison, compare
from registry.calc.shared.part_dates import PartDate
from registry.calc.shared.screen import day_words
from registry.models import Rating

__all__ = [
    "CHECKS",
    "DONOR",
    "F1",
    "NATIVE",
    "RatingLine",
    "check_kind",
    "compared_ratings",
    "latest_ratings",
    "rating_checks",
    "ratings_of_day",
]

NATIVE, DONOR, F1 = "native", "donor", "F1"
CHECKS = {NATIVE: "native (susceptible) check", DONOR: "donor (resistant) check", F1: "F1 check"}


@dataclass(frozen=True, slots=True)
class RatingLine:
    """A rating, the checks of its day, and what those were compared by: "score" or "canker length"."""

    rating: Rating
    comparison: Comparison
    basis: str
    check: str


def rating_checks(rows, path=""):
    """The rows whose tree serves as a check: a native, donor or F1 tree. `path` leads from a row to its tree, as "tree__"."""
    f1 = Q(**{f"{path}backcrosses": 0, f"{path}intercrosses": 0})
    named = Q(**{f"{path}generation_other__iexact": NATIVE}) | Q(**{f"{path}generation_other__iexact": DONOR})
    no_code = {f"{path}backcrosses__isnull": True, f"{path}generation_other": "", f"{path}taxon__role__in": [NATIVE, DONOR]}
    return rows.filter(f1 | named | Q(**no_code))


def check_kind(tree):
    """Which check a tree is, by its generation, else by its species: "native", "donor", "F1" or nothing."""
    if tree.generation:
        return tree.generation.code if tree.generation.code in CHECKS else ""
    return tree.taxon.role if tree.taxon.role in CHECKS else ""


def compared_ratings(ratings):
    """Ratings with the checks of the same orchard, day, scale version, method and strain: one query for any number. One of which only
    the month or the year is known has no checks of its day.

    Parameters
    ----------
    ratings : iterable of Rating
        With tree, its taxon and scale.

    Returns
    -------
    list of RatingLine, in their order
        For a rating without both checks, the comparison says what is missing.
    """
    ratings = list(ratings)
    days = {rating.rated_on for rating in ratings if not isinstance(rating.rated_on, PartDate)}
    checks = _checks_of({rating.scale_id for rating in ratings}, days) if days else {}
    return [_line(rating, checks) for rating in ratings]


def _checks_of(scales, days):
    """{(session, basis): {check: readings}} of the ratings of check trees that were not corrected."""
    found = defaultdict(lambda: defaultdict(list))
    ratings = Rating.objects.filter(scale__in=scales, rated_on__in=days, superseded_by__isnull=True).select_related("tree__taxon")
    for rating in rating_checks(ratings, "tree__"):
        for basis, reading in _readings(rating):
            found[_session(rating), basis][check_kind(rating.tree)].append(reading)
    return found


def _session(rating):
    """What two ratings must share to be comparable. A tree without an orchard has no neighbours rated with it."""
    orchard = rating.tree.orchard.strip().casefold() or f"tree {rating.tree_id}"
    return orchard, rating.scale_id, rating.rated_on, rating.method, rating.strain.strip().casefold()


def _readings(rating):
    if rating.score is not None:
        yield "score", float(rating.score)
    if rating.canker_length_mm is not None:
        yield "canker length", rating.canker_length_mm


def _line(rating, checks):
    basis, reading = next(_readings(rating))
    day = checks.get((_session(rating), basis), {})
    comparison = compare(reading, *(day.get(kind, ()) for kind in (NATIVE, DONOR, F1)))
    if isinstance(rating.rated_on, PartDate):
        comparison = replace(comparison, reason=f"{day_words(rating.rated_on)} says no day; only checks of the same day compare")
    return RatingLine(rating, comparison, basis, check_kind(rating.tree))


def latest_ratings(trees, day):
    """{tree key: {scale key: its last score up to a day}} of ratings that were not corrected, and {scale key: scale}: one query.

    Scores of two scales stay apart: two diseases never become one number.
    """
    latest, scales = defaultdict(dict), {}
    ratings = Rating.objects.filter(tree__in=trees, rated_on__lte=day, superseded_by__isnull=True, score__isnull=False)
    for rating in ratings.select_related("scale").order_by("rated_on", "id"):
        latest[rating.tree_id][rating.scale_id] = rating
        scales[rating.scale_id] = rating.scale
    return latest, scales


def ratings_of_day(trees, day):
    """{tree key: its ratings of a day that were not corrected}: one query."""
    found = defaultdict(list)
    for rating in Rating.objects.filter(tree__in=trees, rated_on=day, superseded_by__isnull=True).select_related("scale").order_by("id"):
        found[rating.tree_id].append(rating)
    return found
