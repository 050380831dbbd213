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
from plantings.calc.survival.census_choice import AGE, LATEST, SEASON, VISIT, CensusChoice
from plantings.calc.survival.survival import Counts, survival
from plantings.calc.survival.table import ROLE_WORDS, STANDARDS, TEST, sown_words
from plantings.calc.survival.tally_sums import Groups, plantings_by_site
from plantings.maps.layers import SitePoint
from plantings.models import Block, Site
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.figure_words import figure_words
from plantings.selectors.survival.rounds import OpenRound, SurvivalFilter, WaitingRound, rounds_in_scope
from plantings.selectors.survival.tallies import GroupLabels, read_tallies
from registry.access.scoping import ALL
from registry.choices import MapPrivacy
from registry.selectors.shared.held_answers import held_until_change
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount

__all__ = ["MapCounts", "SiteMap", "map_counts", "map_points", "sites_placed"]

NAME_WITHHELD = "The name of the site is withheld."


@dataclass(frozen=True, slots=True)
class SiteMap(RecordsBehind):
    """What the map page, its frame and its downloads show.

    `points` are all sites shown, also those without a position; `ages` are the ages each site's figure is of, by code.
    `moment` is the one to show, None for the latest age of each site; `choices` are those there are, by kind. `not_complete` are the
    OpenRounds and `waiting` the WaitingRounds of the sites shown. `hidden` counts sites left off because their landowner asked to keep
    them off shared maps.
    """

    points: tuple[SitePoint, ...]
    boundaries: tuple[dict, ...]
    ages: dict[str, tuple[int, ...]]
    moment: CensusChoice | None
    choices: dict[str, tuple[CensusChoice, ...]]
    not_complete: tuple[OpenRound, ...]
    waiting: tuple[WaitingRound, ...]
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
        if self.moment is None:
            return gettext("Survival at the latest age of each site")
        return gettext("Survival %(moment)s") % {"moment": local_text(self.moment.words)}


@held_until_change
def map_points(user, moment=None, open_rounds=False):
    """Every site a person may see, with its survival at one moment.

    Parameters
    ----------
    moment : CensusChoice of an age, a season or a visit; None takes for each site the latest age all its plantings share
    open_rounds : also with rounds that are not complete, which are marked

    Returns
    -------
    SiteMap
        Exact places for roles with `map.exact` and for people who see only their own land or their crew's plantings;
        for everybody else the places are generalised, names are withheld, and sites of landowners who declined
        are left off and counted.
    """
    sites = Site.objects.for_user(user)
    exact = _is_exact(user)
    listed = sites if exact else sites.exclude(partner__map_privacy=MapPrivacy.HIDDEN)
    rows = [*listed.values_list(*_Place._fields, *(["boundary"] if exact else []))]
    shown = [_Place(*row[: len(_Place._fields)]) for row in rows]
    rounds, blocks = rounds_in_scope(user, SurvivalFilter(open_rounds=open_rounds)), _block_means(user)
    moments, chosen = _chosen(rounds, moment)
    figures = _figures(user, chosen)
    language = get_language()
    points = [_point(site, moments.get(site.code), figures.get(site.code), blocks.get(site.pk), exact, language) for site in shown]
    outlines = [
        {"code": site.code, "name": site.name, "geojson": row[-1]} for site, row in zip(shown, rows, strict=True) if exact and row[-1]
    ]
    codes = {site.code for site in shown}
    return SiteMap(
        points=tuple(points),
        boundaries=tuple(outlines),
        ages={site.code: figures[site.code].ages if site.code in figures else () for site in shown},
        moment=moment,
        choices={kind: tuple(CensusChoice(kind, number) for number, _ in rounds.numbers(kind)) for kind in (AGE, SEASON, VISIT)},
        not_complete=_not_complete(rounds, moment, chosen, codes),
        waiting=tuple(item for item in rounds.waiting if item.site in codes),
        hidden=sites.count() - len(points),
        **records_behind(user, rounds, [part for part, _plantings in chosen.values()]),
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
    sites = Site.objects.for_user(user).order_by("code")
    shown = sites if exact else sites.exclude(partner__map_privacy=MapPrivacy.HIDDEN)
    blocks, places = _block_means(user), map(_Place._make, shown.values_list(*_Place._fields)[start:stop])
    return [_point(site, None, None, blocks.get(site.pk), exact, get_language()) for site in places]


def _is_exact(user):
    return user.may("map.exact") or Site.SCOPE.get(user.role) not in (None, ALL)


class _Figures(NamedTuple):
    """What a site has at the moment it is shown at: ((role, kind of check, sown), Counts) of each, plantings counted, and plantings with
    a census; the ages of the rounds, and whether one of them is not complete."""

    counts: tuple
    counted: int
    plantings: int
    ages: tuple
    not_complete: bool


def _chosen(rounds, moment):
    """({site: moment shown}, {(round, sown): (RoundPart, plantings with a census there)}), from the rounds that may be used."""
    filters, sites = rounds.filters, defaultdict(lambda: defaultdict(list))
    for parts in rounds.by_planting.values():
        if rounds.usable(parts):
            sites[parts[0].site][parts[0].planting].append(parts)
    moments, chosen = {}, {}
    for site, plantings in sites.items():
        here = moments[site] = moment or CensusChoice(AGE, _latest_shared(plantings.values(), filters))
        for several in plantings.values():  # planted trees, sown seed
            for part in filter(None, (parts.last(filters, here) for parts in several)):
                chosen[part.round, part.sown] = part, len(plantings)
    return moments, chosen


def _latest_shared(plantings, filters):
    """The latest age that all plantings of a site have; where they share none, the latest of any."""
    there = [frozenset().union(*(parts.numbers(filters).age for parts in several)) for several in plantings]
    return max(frozenset.intersection(*there) or frozenset().union(*there))


def _not_complete(rounds, moment, chosen, sites):
    """The OpenRounds of some sites, each as it is on this map: in its figures or not."""
    found = rounds.not_complete(moment or CensusChoice(LATEST))
    return tuple(OpenRound(item.part, (item.part.round, item.part.sown) in chosen) for item in found if item.part.site in sites)


def _figures(user, chosen):
    """{site: _Figures} of the chosen rounds."""
    parts = {key: part for key, (part, _plantings) in chosen.items()}
    tallies = GroupLabels(("site",), "lot", SurvivalFilter()).tallies(read_tallies(user, SurvivalFilter(), parts, (None,)), parts)
    plantings = {part.site: number for part, number in chosen.values()}
    counts, counted = defaultdict(list), plantings_by_site(tallies)
    for ((site,), role, standard, sown), sums in Groups(tallies).each():
        counts[site].append(((role, standard, sown), sums))
    ages, not_complete = defaultdict(set), set()
    for part in parts.values():
        ages[part.site].add(part.age)
        not_complete.update([part.site] if part.why else ())
    return {
        site: _Figures(tuple(found), counted[site], plantings[site], tuple(sorted(ages[site])), site in not_complete)
        for site, found in counts.items()
    }


def _block_means(user):
    """{site: (longitude, latitude, number of blocks)} of the blocks that have a point."""
    blocks = Block.objects.for_user(user).filter(longitude__isnull=False).order_by()
    means = blocks.values("planting__site").annotate(lon=Avg("longitude"), lat=Avg("latitude"), number=Count("pk"))
    return {site: (lon, lat, number) for site, lon, lat, number in means.values_list("planting__site", "lon", "lat", "number")}


class _Place(NamedTuple):
    """What a point needs of its site."""

    pk: int
    code: str
    name: str
    longitude: float | None
    latitude: float | None
    jurisdiction: str


@lru_cache(maxsize=20_000)
def _point(site, moment, figures, block_mean, exact, _language):
    """The SitePoint of a _Place, which is made again only where something of it changed."""
    counts = dict(figures.counts) if figures else {}
    # the survival of planted trees; where a site has none under test, the establishment from seed
    sown = (TEST, "", False) not in counts and (TEST, "", True) in counts
    found = counts.get((TEST, "", sown), Counts())
    figure = survival(found)
    lon, lat, notes = site.longitude, site.latitude, _notes(moment, figures, sown)
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


def _notes(moment, figures, sown):
    if moment is None:
        return [gettext("No complete census yet.")]
    when = local_text(moment.words)
    if not figures:
        return [gettext("No complete census %(moment)s.") % {"moment": when}]
    notes = [f"{when[0].upper()}{when[1:]}."]
    if moment.kind != AGE:
        notes.append(gettext("Growing seasons completed: %(ages)s.") % {"ages": ", ".join(map(str, figures.ages))})
    if figures.not_complete:
        notes.append(gettext("Census not complete."))
    if figures.counted < figures.plantings:
        words = gettext("Counts %(counted)s of its %(plantings)s; the others have no complete census then.")
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
