"""The outlines of states and countries that cross a box, simplified for a print, and their names inside it."""

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


def names_within(box: tuple[float, float, float, float]) -> tuple[tuple[float, float, str], ...]:
    """The ISO codes of the US states, and of the other countries, in a box, each once, at a point inside its largest part there.

    Parameters
    ----------
    box : (west, south, east, north)
        In degrees, WGS 84.

    Returns
    -------
    tuple of (longitude, latitude, code)

    Source
    ------
    The shipped boundaries: `plantings/boundaries/SOURCE.md`; the codes are of ISO 3166.
    """
    import pandas
    import shapely

    states, countries = (layer.frame for layer in shipped_layers())
    areas = pandas.concat([states, countries[countries["code"] != "US"]])
    areas = areas.assign(inside=shapely.clip_by_rect(areas.geometry.to_numpy(), *box))
    areas = areas.assign(size=shapely.area(areas["inside"]))
    areas = areas[(areas["size"] > 0) & areas["code"].notna()].sort_values("size").drop_duplicates("code", keep="last")
    points = shapely.point_on_surface(areas["inside"].to_numpy())
    return tuple((float(point.x), float(point.y), str(code)) for point, code in zip(points, areas["code"], strict=True))
