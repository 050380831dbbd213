"""Points of trees that somebody measured: none that cannot be right, and none far from its site unless somebody says that it is."""

from statistics import median

from django.core.exceptions import ValidationError

from plantings.calc.sites.outlines import tree_point_doubt
from plantings.services.sites import point_check

__all__ = ["point_faults"]

_IS_RIGHT = "If it is right all the same, say so under “Point is right”."


def point_faults(site, points):
    """{number: ValidationError} of points that cannot be those of trees of a site, or that somebody must be asked about first.

    Parameters
    ----------
    points : {number: (longitude, latitude, accuracy in metres or None, whether somebody said that the point is right)}
    """
    faults, asked = {}, {}
    for number, (longitude, latitude, accuracy_m, is_right) in points.items():
        try:
            point_check(longitude, latitude)
        except ValidationError as error:
            faults[number] = error
            continue
        if longitude is None and accuracy_m is not None:
            faults[number] = ValidationError({"accuracy_m": "is the accuracy of a point: give longitude and latitude too"})
        elif longitude is not None and not is_right:
            asked[number] = (longitude, latitude)
    doubts = zip(asked, _doubts(site, list(asked.values())), strict=True) if asked else ()
    return faults | {number: ValidationError({"longitude": f"{doubt} {_IS_RIGHT}"}) for number, doubt in doubts if doubt}


def _doubts(site, points):
    from plantings.calc.sites.geometry import geodesic_distance_m
    from plantings.maps.outline_shapes import distances_m

    if site.boundary:
        return [tree_point_doubt(distance, "boundary") for distance in distances_m(site.boundary, points)]
    of, place = ("site", (site.longitude, site.latitude)) if site.longitude is not None else ("others", _middle(points))
    return [tree_point_doubt(geodesic_distance_m(*place, *point), of) for point in points]


def _middle(points):
    """The median, which a few points in another country do not move."""
    return tuple(median(numbers) for numbers in zip(*points, strict=True))
