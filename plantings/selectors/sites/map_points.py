"""Sites for the map: survival of each, and its place as exactly as the person may know it."""

import datetime
from collections import defaultdict
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from django.db.models import Avg, Count
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language, gettext

from plantings.calc.sites.geometry import generalise_point
from plantings.calc.survival.census_choice import AGE
from plantings.calc.survival.survival import Counts, survival
from plantings.calc.survival.table import ROLE_WORDS, STANDARDS, TEST, sown_words
from plantings.calc.survival.tallies import Groups
from plantings.calc.survival.words import season_words
from plantings.maps.layers import SitePoint
from plantings.models import Block, Site
from plantings.selectors.survival.figure_words import figure_words
from plantings.selectors.survival.rounds import SurvivalFilter, rounds_in_scope
from plantings.selectors.survival.tallies import GroupLabels, read_tallies
from registry.access.scoping import ALL
from registry.choices import MapPrivacy
from registry.selectors.shared.held_answers import held_until_change
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount

__all__ = ["MapCounts", "SiteMap", "map_counts", "map_points", "sites_placed"]

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
            return gettext("Survival at the latest age of each site")
        return gettext("Survival after %(seasons)s") % {"seasons": local_text(season_words(self.season))}


@held_until_change
def map_points(user, season=None):
    """Every site a person may see, with its survival at one age.

    Parameters
    ----------
    season : growing seasons completed; None takes for each site the latest age all its plantings share. Complete rounds only.

    Returns
    -------
    SiteMap
        Exact places for roles with `map.exact` and for people who see only their own land or their crew's plantings;
        for everybody else the places are generalised, names are withheld, and sites of landowners who declined
        are left off and counted.
    """
    sites = Site.objects.for_user(user).select_related("partner")
    exact = _is_exact(user)
    shown = sites if exact else sites.exclude(partner__map_privacy=MapPrivacy.HIDDEN)
    rounds, blocks = rounds_in_scope(user, SurvivalFilter()), _block_means(user)
    ages, chosen = _at_ages(rounds, season)
    figures = _figures(user, chosen)
    points = [_point(site, ages.get(site.code), figures.get(site.code), blocks.get(site.pk), exact) for site in shown]
    outlines = [{"code": site.code, "name": site.name, "geojson": site.boundary} for site in shown if exact and site.boundary]
    return SiteMap(
        points=tuple(points),
        boundaries=tuple(outlines),
        ages={site.code: ages.get(site.code) for site in shown},
        season=season,
        seasons=tuple(age for age, _ in rounds.numbers(AGE)),
        hidden=sites.count() - len(points),
        as_of=timezone.localdate(),
    )


class MapCounts(NamedTuple):
    """How many sites the map shows, whether their places are generalised, and how many sites it leaves off."""

    shown: int
    generalised: bool
    hidden: int


def map_counts(user):
    """The MapCounts of the map a person may see, without its figures."""
    sites = Site.objects.for_user(user)
    if _is_exact(user):
        return MapCounts(sites.count(), False, 0)
    hidden = sites.filter(partner__map_privacy=MapPrivacy.HIDDEN).count()
    return MapCounts(sites.count() - hidden, True, hidden)


def sites_placed(user, start, stop):
    """Of the sites on the map of a person those from `start` to `stop`, by code, as SitePoints without figures."""
    exact = _is_exact(user)
    sites = Site.objects.for_user(user).select_related("partner").order_by("code")
    shown = sites if exact else sites.exclude(partner__map_privacy=MapPrivacy.HIDDEN)
    blocks = _block_means(user)
    return [_point(site, None, None, blocks.get(site.pk), exact) for site in shown[start:stop]]


def _is_exact(user):
    return user.may("map.exact") or Site.SCOPE.get(user.role) not in (None, ALL)


class _Figures(NamedTuple):
    """What a site has at the age it is shown at: ((role, kind of check, sown), Counts) of each, plantings counted, and plantings with a
    census."""

    counts: tuple
    counted: int
    plantings: int


def _at_ages(rounds, season):
    """({site: age shown}, {(round, sown): (RoundPart, plantings with a census there)}), from complete rounds only."""
    sites = defaultdict(lambda: defaultdict(list))
    for parts in rounds.by_planting.values():
        for part in rounds.usable(parts):
            sites[part.site][part.planting].append(part)
    ages, chosen = {}, {}
    for site, plantings in sites.items():
        there = [{part.age for part in parts} for parts in plantings.values()]
        ages[site] = age = (max(set.intersection(*there) or set.union(*there))) if season is None else season
        for parts in plantings.values():
            of_age = {part.sown: part for part in parts if part.age == age}  # the last one of each
            chosen |= {(part.round, part.sown): (part, len(plantings)) for part in of_age.values()}
    return ages, chosen


def _figures(user, chosen):
    """{site: _Figures} of the chosen rounds."""
    parts = {key: part for key, (part, _plantings) in chosen.items()}
    tallies = GroupLabels(("site",), "lot", SurvivalFilter()).tallies(read_tallies(user, SurvivalFilter(), parts, (None,)), parts)
    plantings = {part.site: number for part, number in chosen.values()}
    counts, counted = defaultdict(list), defaultdict(set)
    groups = Groups(tallies)
    for number in groups.index.numbers.tolist():
        (site,), role, standard, sown = tallies.kinds[number]
        counts[site].append(((role, standard, sown), groups.counts(number)))
        counted[site] |= groups.index.plantings_of(number)
    return {site: _Figures(tuple(found), len(counted[site]), plantings[site]) for site, found in counts.items()}


def _block_means(user):
    """{site: (longitude, latitude, number of blocks)} of the blocks that have a point."""
    blocks = Block.objects.for_user(user).filter(longitude__isnull=False).order_by()
    means = blocks.values("planting__site").annotate(lon=Avg("longitude"), lat=Avg("latitude"), number=Count("pk"))
    return {site: (lon, lat, number) for site, lon, lat, number in means.values_list("planting__site", "lon", "lat", "number")}


def _point(site, age, figures, block_mean, exact):
    """The SitePoint of a site, which is made again only where something of it changed."""
    about = site.pk, site.code, site.name, site.longitude, site.latitude, site.jurisdiction
    return _point_of(_Place(*about), age, figures, block_mean, exact, get_language())


class _Place(NamedTuple):
    """What a point needs of its site."""

    pk: int
    code: str
    name: str
    longitude: float | None
    latitude: float | None
    jurisdiction: str


@lru_cache(maxsize=20_000)
def _point_of(site, age, figures, block_mean, exact, _language):
    counts = dict(figures.counts) if figures else {}
    # the survival of planted trees; where a site has none under test, the establishment from seed
    sown = (TEST, "", False) not in counts and (TEST, "", True) in counts
    found = counts.get((TEST, "", sown), Counts())
    figure = survival(found)
    lon, lat, notes = site.longitude, site.latitude, _notes(age, figures, sown)
    if lon is None and block_mean:
        lon, lat, number = block_mean
        several = gettext("Place: the mean of the points of its %(blocks)s.") % {"blocks": local_amount(number, "blocks")}
        notes.append(gettext("Place: the point of its one block.") if number == 1 else several)
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
        population="sown" if sown else "planted",
        planted=found.planted,
        countable=figure.countable,
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


def _notes(age, figures, sown):
    if age is None:
        return [gettext("No complete census yet.")]
    if not figures:
        return [gettext("No complete census after %(seasons)s.") % {"seasons": local_text(season_words(age))}]
    notes = [gettext("After %(seasons)s.") % {"seasons": local_text(season_words(age))}]
    if figures.counted < figures.plantings:
        words = gettext("Counts %(counted)s of its %(plantings)s; the others have no complete census of that age.")
        notes.append(words % {"counted": figures.counted, "plantings": local_amount(figures.plantings, "plantings")})
    if sown:
        notes.append(gettext("From seed sown in place."))
    elif not any(role == TEST for (role, _, _), _counts in figures.counts):
        notes.append(gettext("No trees under test."))
    for (role, standard, of_seed), counts in sorted(figures.counts, key=lambda item: (item[0][2], _STANDARD_ORDER[item[0][1]])):
        if (role, of_seed) != (TEST, sown):
            words = local_text(sown_words(ROLE_WORDS[standard][1], of_seed))
            figure = figure_words(survival(counts))
            notes.append(gettext("%(what)s: %(figure)s.") % {"what": f"{words[0].upper()}{words[1:]}", "figure": figure})
    return notes


_STANDARD_ORDER = {standard: place for place, standard in enumerate(("", *STANDARDS))}
