"""Where sites lie, looked up in outlines: the jurisdiction, the county, the areas of added layers, and what is too near to tell apart."""

import io
from functools import lru_cache
from typing import NamedTuple

from django.core.exceptions import ValidationError

from plantings.choices import LayerKind
from plantings.maps.basis_words import BY_HAND, TYPED
from plantings.models import BoundaryLayer, Site
from registry.compliance.gate.places import read_pattern

__all__ = ["BY_HAND", "TYPED", "SitePlace", "area_on_file", "found_places"]

_BASIS_LENGTH = Site._meta.get_field("jurisdiction_basis").max_length
_CORNERS = 40  # of an outline that are looked up, evenly along it


class SitePlace(NamedTuple):
    """What is found of the place of a site, by the names of its fields."""

    jurisdiction: str = ""
    jurisdiction_basis: str = ""
    county: str = ""
    county_basis: str = ""
    near: list = []
    areas: list = []


def found_places(sites):
    """A `SitePlace` for each site. What was set by hand or typed stays, and settles what would be too near to tell."""
    points = {place: points for place, site in enumerate(sites) if (points := _points(site))}
    if not points:
        return [_of_hand(site) for site in sites]
    flat = [point for several in points.values() for point in several]
    answers = iter(_looked_up(flat, [sites[place] for place, several in points.items() for _point in several]))
    found = {place: [next(answers) for _point in several] for place, several in points.items()}
    return [_place(site, found[place]) if place in found else _of_hand(site) for place, site in enumerate(sites)]


def _points(site):
    """The point of a site, or one inside its outline, then corners of the outline; none of a site without either."""
    corners = []
    if site.boundary:
        import shapely
        from shapely.geometry import shape

        outline = shape(site.boundary)
        corners = [tuple(corner[:2]) for corner in shapely.get_coordinates(outline)]
        corners = corners[:: max(1, len(corners) // _CORNERS)]
        inner = outline.representative_point()
        corners.insert(0, (inner.x, inner.y))
    own = [(site.longitude, site.latitude)] if site.longitude is not None else []
    return own + corners


class _Answer(NamedTuple):
    jurisdiction: object
    county: object
    inside: list  # codes of areas
    near: list  # patterns of areas


def _looked_up(points, sites):
    from plantings.maps.counties import find_counties
    from plantings.maps.jurisdiction import areas_near, find_jurisdictions

    jurisdictions = find_jurisdictions(points, _layers())
    states = [site.jurisdiction if _is_by_hand(site) else found.code or "" for site, found in zip(sites, jurisdictions, strict=True)]
    areas = areas_near(points, _area_layers())
    for place, (jurisdiction, county) in enumerate(zip(jurisdictions, find_counties(points, states), strict=True)):
        here = [area for area in areas.get(place, []) if area.code]
        inside = [area.code for area in here if area.distance_m == 0]
        yield _Answer(jurisdiction, county, inside, [f"area:{area.code}" for area in here if area.code not in inside])


def _is_by_hand(site):
    return site.jurisdiction_basis.startswith(BY_HAND)


def _of_hand(site):
    """The place of a site without a point: what was set by hand."""
    jurisdiction = (site.jurisdiction, site.jurisdiction_basis) if _is_by_hand(site) else ("", "")
    return SitePlace(*jurisdiction, *((site.county, site.county_basis) if site.county_basis == TYPED else ("", "")))


def _place(site, answers):
    first, set_by_hand = answers[0], _of_hand(site)
    is_by_hand, is_typed = _is_by_hand(site), site.county_basis == TYPED
    code = set_by_hand.jurisdiction if is_by_hand else first.jurisdiction.code or ""
    county = set_by_hand.county if is_typed else first.county.name
    near = [] if is_by_hand else [label for one in answers for label in (one.jurisdiction.code, *one.jurisdiction.nearby)]
    near += [] if is_typed else [pattern for one in answers for pattern in (*_own_county(one), *one.county.near)]
    near = [pattern for pattern in near if pattern and pattern not in (code, f"{code}/{county}") and _is_pattern(pattern)]
    near = [pattern for pattern in near if not is_by_hand or pattern.startswith(f"{code}/")]
    inside = {area for one in answers for area in one.inside}
    near += [pattern for one in answers for pattern in one.near if pattern.removeprefix("area:") not in inside]
    return SitePlace(
        code,
        set_by_hand.jurisdiction_basis if is_by_hand else _basis_words(first.jurisdiction),
        county,
        TYPED if is_typed else _cut(first.county.note),
        sorted(set(near)),
        sorted(inside),
    )


def _own_county(answer):
    return [f"{answer.jurisdiction.code}/{answer.county.name}"] if answer.county.name else []


def _is_pattern(label):
    """Whether a label is a code; an area without one is named in words, which no rule can name."""
    try:
        read_pattern(label)
    except ValueError:
        return False
    return True


def _basis_words(answer):
    if not answer.layer:
        return answer.basis
    return _cut(f"{answer.basis}: {answer.name} (layer {answer.layer}). {answer.note}".strip())


def _cut(words):
    return words if len(words) <= _BASIS_LENGTH else f"{words[: _BASIS_LENGTH - 1]}…"


def _layers():
    """Layers somebody added come first: they are drawn finer than the shipped ones."""
    from plantings.maps.jurisdiction import SUBDIVISION, shipped_layers

    return [*_added(LayerKind.JURISDICTIONS, SUBDIVISION), *shipped_layers()]


def _area_layers():
    return _added(LayerKind.AREAS, "area")


def area_on_file(code):
    """The code of an area as its layer writes it, whatever the letters; "" when no layer has it."""
    codes = {str(found) for layer in _area_layers() for found in layer.frame["code"]}
    return code if code in codes else next((found for found in sorted(codes) if found.casefold() == code.casefold()), "")


def _added(kind, level):
    return [_added_layer(*layer, level) for layer in BoundaryLayer.objects.filter(kind=kind).values_list("pk", "name", "file")]


@lru_cache(maxsize=8)
def _added_layer(pk, name, file, level):
    import geopandas

    from plantings.maps.jurisdiction import JurisdictionLayer

    try:
        with BoundaryLayer._meta.get_field("file").storage.open(file) as handle:
            shapes = geopandas.read_file(io.BytesIO(handle.read()))
    except (OSError, RuntimeError, ValueError) as error:  # the second is how its reader says that a file is damaged
        raise ValidationError(
            f"The file of the layer {name} is missing or damaged, so no site can be looked up in it. Put the file back with "
            "manage.py verify --repair FILE, or withdraw the layer."
        ) from error
    return JurisdictionLayer(name, level, shapes)
