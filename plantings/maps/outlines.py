"""The outlines of states and countries that cross a box, simplified for a print."""

from plantings.maps.jurisdiction import shipped_layers

CREDIT = "Lines: US Census Bureau, Natural Earth"
_STEPS = 900  # across the box: finer than a print shows


def outlines_within(box: tuple[float, float, float, float]) -> tuple[tuple[tuple[float, float], ...], ...]:
    """The lines of US states, and of the countries other than the United States, that cross a box.

    Parameters
    ----------
    box : (west, south, east, north)
        In degrees, WGS 84.

    Returns
    -------
    tuple of lines, each a tuple of (longitude, latitude) in degrees, cut at the box

    Source
    ------
    The shipped boundaries: `plantings/boundaries/SOURCE.md`.
    """
    import shapely

    states, countries = (layer.frame for layer in shipped_layers())
    shapes = [*states.geometry, *countries[countries["code"] != "US"].geometry]
    cut = shapely.clip_by_rect(shapely.boundary(shapes), *box)
    simple = shapely.simplify(cut, (box[2] - box[0]) / _STEPS)
    lines = [part for part in shapely.get_parts(simple) if not part.is_empty and part.geom_type in ("LineString", "LinearRing")]
    return tuple(tuple((float(lon), float(lat)) for lon, lat in line.coords) for line in lines)
