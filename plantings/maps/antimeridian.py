"""Cutting outlines at 180 degrees, for sources that draw them on the sphere.

On the sphere a ring may step from 179 to -179 degrees: two degrees. On a flat sheet of longitudes the same step runs
358 degrees back around the world, and a point in the Atlantic falls into Russia. RFC 7946 section 3.1.9 asks
for shapes cut at the antimeridian; this does the cutting.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from numpy import ndarray
    from shapely import MultiPolygon, Polygon


def cut_at_antimeridian(polygon: "Polygon") -> "Polygon | MultiPolygon":
    """The same area in longitudes from -180 to 180, in two or more parts where it crosses 180 degrees.

    A ring that runs once around the world is closed over the nearer pole. Polygons without a step of more than 180
    degrees come back as they are.
    """
    import numpy
    import shapely

    outer = shapely.get_coordinates(polygon.exterior)
    if len(outer) == 0 or numpy.abs(numpy.diff(outer[:, 0])).max() <= 180:
        return polygon
    shell = shapely.Polygon(_unrolled(outer))
    holes = [_moved_into(shell, _unrolled(shapely.get_coordinates(ring))) for ring in polygon.interiors]
    # Holes are taken out afterwards: the unrolled shell may touch itself, and shapely takes only a valid one.
    flat = _areas(shell)
    for hole in holes:
        flat = flat.difference(_areas(hole))
    pieces = []
    for turn in (-360, 0, 360):
        inside = flat.intersection(shapely.box(turn - 180, -90, turn + 180, 90))
        moved = shapely.transform(inside, lambda xy, turn=turn: xy - (turn, 0))
        pieces += [part for part in shapely.get_parts(moved) if part.geom_type == "Polygon" and part.area > 0]
    return shapely.MultiPolygon(pieces)


def _unrolled(ring: "ndarray") -> "ndarray":
    """Longitudes continued beyond 180, so that no step is longer than half the world."""
    import numpy

    turns = numpy.concatenate([[0], numpy.cumsum(-numpy.round(numpy.diff(ring[:, 0]) / 360))])
    unrolled = ring + numpy.column_stack([360 * turns, numpy.zeros(len(ring))])
    if abs(turns[-1]) < 1:
        return unrolled
    pole = -90.0 if ring[:, 1].mean() < 0 else 90.0
    return numpy.vstack([unrolled, [unrolled[-1, 0], pole], [unrolled[0, 0], pole], unrolled[:1]])


def _moved_into(shell, hole: "ndarray"):
    import shapely

    places = [shapely.Polygon(hole + (turn, 0)) for turn in (0, 360, -360)]
    return next((place for place in places if shell.intersects(place.representative_point())), places[0])


def _areas(polygon):
    import shapely

    return shapely.make_valid(polygon, method="structure", keep_collapsed=False)
