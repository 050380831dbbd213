"""The places of `export_book` as a GeoPackage, for a map program: sites, their boundaries, blocks, trees. A copy: the tables have the
same.

Its layers can be loaded as sheets of sites, blocks and trees, since their columns have the names of ours.
"""

from itertools import islice

from plantings.models import Block, Site, Tree

__all__ = ["PLACES", "places_write"]

PLACES = "places.gpkg"
_CRS = "EPSG:4326"
_NAMES = {
    "id": "record_id", "planting__code": "planting", "partner__code": "partner", "block__code": "block", "entry__lot__code": "lot",
    "entry__role": "role",
}  # fmt: skip
_TREE = ("id", "planting__code", "tag", "entry__lot__code", "entry__role", "block__code", "row", "position", "accuracy_m")
_TREES_AT_ONCE = 50_000
_NO_DATE = "2000-01-01T00:00:00Z"  # the format stores when a layer was changed; the same records must give the same file


def places_write(path) -> bool:
    """Write the layers that have a place; False, and no file, where nothing has one."""
    import pyogrio
    from shapely.geometry import Point, shape

    columns = ("id", "code", "name", "partner__code", "longitude", "latitude", "boundary", "area_m2", "elevation_m")
    sites = list(Site.objects.order_by("pk").values(*columns))
    blocks = Block.objects.order_by("pk").values("id", "planting__code", "code", "longitude", "latitude")
    layers = {
        "site": [_place(row, ("id", "code", "name", "partner__code", "elevation_m"), _point(row, Point)) for row in sites],
        "site_boundary": [
            _place(row, ("id", "code", "name", "partner__code", "area_m2"), shape(row["boundary"]) if row["boundary"] else None)
            for row in sites
        ],
        "block": [_place(row, ("id", "planting__code", "code"), _point(row, Point)) for row in blocks],
    }
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": _NO_DATE})
    try:
        written = [_written(path, name, rows) for name, rows in layers.items()]
        trees = Tree.objects.filter(longitude__isnull=False).order_by("pk").values(*_TREE, "longitude", "latitude").iterator()
        while rows := list(islice(trees, _TREES_AT_ONCE)):
            written.append(_written(path, "tree", [_place(row, _TREE, _point(row, Point)) for row in rows]))
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})
    return any(written)


def _written(path, layer, rows):
    """Add the rows that have a place to a layer; whether there are any. Whole numbers stay whole where some are blank."""
    import geopandas

    rows = [row for row in rows if row["geometry"] is not None]
    if rows:
        frame = geopandas.GeoDataFrame(rows, crs=_CRS).rename(columns=_NAMES)
        whole = {name: "Int64" for name in ("row", "position") if name in frame}
        frame.astype(whole | ({"accuracy_m": float} if "accuracy_m" in frame else {})).to_file(
            path, layer=layer, driver="GPKG", mode="a" if path.exists() else "w"
        )
    return bool(rows)


def _place(row, names, geometry):
    return {name: row[name] for name in names} | {"geometry": geometry}


def _point(row, point):
    return None if row["longitude"] is None else point(row["longitude"], row["latitude"])
