"""The places of `export_book` as a GeoPackage, for a map program: sites, their boundaries, blocks. A copy: the tables have the same.

Its layers can be loaded as sheets of sites and blocks, since their columns have the names of ours.
"""

from plantings.models import Block, Site

__all__ = ["PLACES", "places_write"]

PLACES = "places.gpkg"
_CRS = "EPSG:4326"
_NAMES = {"id": "record_id", "planting__code": "planting", "partner__code": "partner"}
_NO_DATE = "2000-01-01T00:00:00Z"  # the format stores when a layer was changed; the same records must give the same file


def places_write(path) -> bool:
    """Write the layers that have a place; False, and no file, where nothing has one."""
    import geopandas
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
    written = False
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": _NO_DATE})
    try:
        for name, rows in layers.items():
            if rows := [row for row in rows if row["geometry"] is not None]:
                frame = geopandas.GeoDataFrame(rows, crs=_CRS).rename(columns=_NAMES)
                frame.to_file(path, layer=name, driver="GPKG", mode="a" if written else "w")
                written = True
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})
    return written


def _place(row, names, geometry):
    return {name: row[name] for name in names} | {"geometry": geometry}


def _point(row, point):
    return None if row["longitude"] is None else point(row["longitude"], row["latitude"])
