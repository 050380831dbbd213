"""The map of a permit file: where what is under the paper is planted, as far as the reader may know, for the print and as GeoJSON."""

import json
from dataclasses import dataclass

from plantings.maps.outlines import CREDIT, names_within, outlines_within
from registry.calc.shared.screen import amount_words
from registry.prints.document import Map
from registry.prints.map_part import map_view

_AS_WIDE = 1.9  # as the map is high: on letter and on A4


@dataclass(frozen=True, slots=True)
class Place:
    """A site with a position: its number on the map, its plantings, and how many of them came under the paper."""

    number: int
    site: object
    position: object
    plantings: tuple[str, ...]
    under: int


def map_places(file, position):
    """([Place], how many sites have no position that the reader may know). `position` gives the position of a site."""
    sites = {}
    for entry in file.items.entries:
        site, plantings, under = sites.get(entry.site.pk, (entry.site, {}, 0))
        sites[entry.site.pk] = (site, plantings | {entry.planting: None}, under + entry.under)
    found = sorted(sites.values(), key=lambda one: one[0].code)
    known = [(site, where, plantings, under) for site, plantings, under in found if (where := position(site)).longitude is not None]
    places = [Place(number, site, where, tuple(plantings), under) for number, (site, where, plantings, under) in enumerate(known, start=1)]
    return places, len(found) - len(places)


def map_part(places, left_off):
    """The map for the print; nothing where no place is known."""
    if not places:
        return ()
    positions = [(place.position.longitude, place.position.latitude) for place in places]
    # the outlines are cut at a box twice as wide as the places need, whatever the shape of the page
    box = map_view(positions, 1, 1).box
    generalised = sum(not place.position.exact for place in places)
    note = [f"North is up. {CREDIT}; simplified."]
    note += [f"{amount_words(generalised, 'sites')} generalised: the dot is not the place."] if generalised else []
    note += [f"{amount_words(left_off, 'sites')} without a position on this map."] if left_off else []
    key = tuple(
        f"{place.number} {place.site.code} {place.site.name}: {', '.join(place.plantings)}; {place.under:,} under this paper; "
        f"{place.position.words}"
        for place in places
    )
    dots = tuple((lon, lat, str(place.number)) for (lon, lat), place in zip(positions, places, strict=True))
    names = names_within(map_view(positions, _AS_WIDE, 1).box)
    return (Map("Where it is planted", outlines_within(_wider(box)), dots, key, " ".join(note), names),)


def _wider(box):
    west, south, east, north = box
    wide, high = east - west, north - south
    return west - wide, south - high, east + wide, north + high


def map_geojson(places):
    """The places as GeoJSON (RFC 7946); None without any."""
    if not places:
        return None
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [place.position.longitude, place.position.latitude]},
            "properties": {
                "number": place.number, "code": place.site.code, "name": place.site.name, "partner": place.site.partner.name,
                "region": place.site.jurisdiction, "plantings": ", ".join(place.plantings),
                "under_this_paper": place.under, "position_is_exact": place.position.exact, "position": place.position.words,
                "data_generalizations": place.position.note,
            },
        }
        for place in places
    ]  # fmt: skip
    return json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False, indent=1).encode()
