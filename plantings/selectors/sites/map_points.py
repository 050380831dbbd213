"""Sites for the map: survival of each, and its place as exactly as the person may know it."""

import datetime
from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Avg, Count, Max, Sum
from django.urls import reverse
from django.utils import timezone

from plantings.calc.sites.geometry import generalise_point
from plantings.calc.survival.groups import ROLES_COUNTED
from plantings.calc.survival.survival import Counts, survival, survival_text
from plantings.calc.survival.table import CHECK, COUNT_NAMES, TEST
from plantings.calc.survival.words import season_words
from plantings.maps.layers import SitePoint
from plantings.models import Block, Site, SurvivalTally
from plantings.selectors.survival.survival import tally_visited
from registry.access.scoping import ALL
from registry.calc.shared.screen import amount_words
from registry.choices import MapPrivacy

__all__ = ["SiteMap", "map_points"]

NAME_WITHHELD = "The name of the site is withheld."


@dataclass(frozen=True, slots=True)
class SiteMap:
    """What the map page, its frame and its downloads show.

    `points` are all sites shown, also those without a position; `ages` is the age each site's figure is of, by code.
    `season` is the age to show, None for the latest of each site. `hidden` counts sites left off because
    their landowner asked to keep them off shared maps.
    """

    points: tuple[SitePoint, ...]
    boundaries: tuple[dict, ...]
    ages: dict[str, int | None]
    season: int | None
    seasons: tuple[int, ...]
    hidden: int
    as_of: datetime.date

    @property
    def located(self):
        return [point for point in self.points if point.lon is not None]

    @property
    def generalised(self):
        return [point for point in self.located if not point.exact]

    @property
    def caption(self):
        if self.season is None:
            return "Survival at the latest age of each site"
        return f"Survival after {season_words(self.season)}"


def map_points(user, season=None):
    """Every site a person may see, with its survival at one age.

    Parameters
    ----------
    season : growing seasons completed; None takes for each site the latest age all its plantings share

    Returns
    -------
    SiteMap
        Exact places for roles with `map.exact` and for people who see only their own land or their crew's plantings;
        for everybody else the places are generalised, names are withheld, and sites of landowners who declined
        are left off and counted.
    """
    sites = Site.objects.for_user(user).select_related("partner")
    exact = user.may("map.exact") or Site.SCOPE.get(user.role) not in (None, ALL)
    shown = sites if exact else sites.exclude(partner__map_privacy=MapPrivacy.HIDDEN)
    figures, blocks = _figures(user), _block_means(user)
    points, ages = [], {}
    for site in shown:
        age, counted = _at_age(figures.get(site.pk, {}), season)
        points.append(_point(site, age, counted, blocks.get(site.pk), exact))
        ages[site.code] = age
    outlines = [{"code": site.code, "name": site.name, "geojson": site.boundary} for site in shown if exact and site.boundary]
    return SiteMap(
        points=tuple(points),
        boundaries=tuple(outlines),
        ages=ages,
        season=season,
        seasons=tuple(sorted({age for plantings in figures.values() for rounds in plantings.values() for age in rounds})),
        hidden=sites.count() - len(points),
        as_of=timezone.localdate(),
    )


def _figures(user):
    """{site: {planting: {age: {role: (Counts, visited)}}}}, the last round of each age, in one query."""
    tallies = SurvivalTally.objects.for_user(user).filter(entry__role__in=ROLES_COUNTED).annotate(seen=tally_visited())
    found = (
        tallies.values("entry__planting__site", "entry__planting", "round", "round__growing_seasons", "entry__role")
        .annotate(visited=Max("seen"), **{f"sum_{name}": Sum(name) for name in COUNT_NAMES})
        .order_by("round__opens_on")
        .values_list(
            "entry__planting__site", "entry__planting", "round", "round__growing_seasons", "entry__role", "visited",
            *(f"sum_{name}" for name in COUNT_NAMES),
        )
    )  # fmt: skip
    figures = defaultdict(lambda: defaultdict(lambda: defaultdict(dict)))
    for site, planting, _round, age, role, visited, *counts in found:
        figures[site][planting][age][role] = Counts(*counts), bool(visited)  # a later round of the same age takes its place
    return figures


def _at_age(plantings, season):
    """The age a site is shown at, and {role: (Counts, visited, plantings counted, plantings with a census)} there."""
    if not plantings:
        return None, {}
    if season is None:
        ages = [set(rounds) for rounds in plantings.values()]
        season = max(set.intersection(*ages) or set.union(*ages))
    counted = {}
    for role in (TEST, CHECK):
        parts = [rounds[season][role] for rounds in plantings.values() if season in rounds and role in rounds[season]]
        if parts:
            counts = sum((counts for counts, _ in parts), Counts())
            counted[role] = counts, any(visited for _, visited in parts), len(parts), len(plantings)
    return season, counted


def _block_means(user):
    """{site: (longitude, latitude, number of blocks)} of the blocks that have a point."""
    blocks = Block.objects.for_user(user).filter(longitude__isnull=False).order_by()
    means = blocks.values("planting__site").annotate(lon=Avg("longitude"), lat=Avg("latitude"), number=Count("pk"))
    return {site: (lon, lat, number) for site, lon, lat, number in means.values_list("planting__site", "lon", "lat", "number")}


def _point(site, age, counted, block_mean, exact):
    counts, visited, _, _ = counted.get(TEST, (Counts(), True, 0, 0))
    figure = survival(counts, visited)
    lon, lat, notes = site.longitude, site.latitude, _notes(age, counted, figure)
    if lon is None and block_mean:
        lon, lat, number = block_mean
        notes.append(
            "Place: the point of its one block."
            if number == 1
            else f"Place: the mean of the points of its {amount_words(number, 'blocks')}."
        )
    uncertainty_m, statement = None, ""
    if not exact and lon is not None:
        lon, lat, uncertainty_m, statement = generalise_point(lon, lat)
        statement = f"{statement} {NAME_WITHHELD}"
    return SitePoint(
        code=site.code,
        name=site.name if exact else "",
        lon=lon,
        lat=lat,
        exact=exact,
        uncertainty_m=uncertainty_m,
        jurisdiction=site.jurisdiction,
        planted=counts.planted,
        alive=figure.alive,
        n=figure.n,
        share=figure.share,
        low=figure.interval.low if figure.interval else None,
        high=figure.interval.high if figure.interval else None,
        band_low=figure.band_low,
        band_high=figure.band_high,
        text=" ".join(notes),
        detail_url=reverse("site_detail", args=[site.pk]),
        data_generalizations=statement,
    )


def _notes(age, counted, figure):
    if age is None:
        return ["No census yet."]
    if not counted:
        return [f"No census after {season_words(age)}."]
    notes = [f"After {season_words(age)}."]
    if TEST in counted:
        _, _, plantings, all_plantings = counted[TEST]
        if plantings < all_plantings:
            notes.append(f"Counts {plantings} of its {amount_words(all_plantings, 'plantings')}; the others have no census of that age.")
        if figure.not_visited_at_all:
            notes.append("Not visited.")
    else:
        notes.append("No trees under test.")
    if CHECK in counted:
        counts, visited, _, _ = counted[CHECK]
        notes.append(f"Checks: {survival_text(survival(counts, visited))}.")
    return notes
