"""ZIP files of outlines with damaged, nameless or doubled entries: one sentence each, and no trace of the program."""

import io
import zipfile

import geopandas
import pytest
import shapely

from plantings.maps.boundary_files import read_boundary, read_layer
from plantings.maps.geo_files import BoundaryFileError


@pytest.fixture(scope="module")
def parts(tmp_path_factory):
    """{name: content} of the files of a shapefile."""
    folder = tmp_path_factory.mktemp("shapes")
    square = shapely.box(-73.2, 44.5, -73.1, 44.6)
    geopandas.GeoDataFrame({"name": ["A"]}, geometry=[square], crs=4326).to_file(folder / "boundary.shp")
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def zipped(entries, method=zipfile.ZIP_DEFLATED):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", method) as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return made.getvalue()


def changed(content, old, new, times=-1):
    assert old in content and len(old) == len(new)
    return content.replace(old, new, times)


def test_a_whole_archive_is_read(parts):
    assert read_boundary(zipped(parts), "land.zip").area_m2 > 0


@pytest.mark.parametrize(
    "damage",
    [
        lambda parts: changed(zipped(parts), b"boundary.shp", b"\0" * 12),  # an entry without a name
        lambda parts: changed(zipped(parts), b"boundary.shp", b"\0" * 12, 1),  # nameless where it stands, named in the list
        lambda parts: changed(zipped(parts), b"boundary.shp", b"/" * 12),
        lambda parts: changed(zipped(parts), b"boundary.shp", b"." * 12),
        lambda parts: changed(zipped(parts), b"boundary.shp", b"\xff" * 12),
        lambda parts: changed(zipped({"boundary.shp": parts["boundary.shp"]}), b"PK\x03\x04", b"PK\x03\x05"),
        lambda parts: zipped(parts)[:-30],
        lambda parts: zipped(parts)[:200],
        lambda parts: b"PK",
        lambda parts: b"PK\x05\x06" + b"\0" * 18,  # an archive of nothing
        lambda parts: zipped(parts)[:60] + bytes(255 - octet for octet in zipped(parts)[60:120]) + zipped(parts)[120:],  # packed content damaged
        lambda parts: zipped(parts, zipfile.ZIP_STORED)[:60] + b"\xff" * 60 + zipped(parts, zipfile.ZIP_STORED)[120:],
        lambda parts: zipped(dict.fromkeys(parts, b"")),
        lambda parts: zipped(parts | {"boundary.shp": parts["boundary.shp"][:90]}),
        lambda parts: zipped(parts | {"boundary.dbf": parts["boundary.dbf"][:20]}),
        lambda parts: zipped(parts | {"boundary.dbf": b"\xff" * 400}),
        lambda parts: zipped(parts | {"boundary.prj": b"\0\xff[["}),
        lambda parts: zipped(parts | {"boundary.prj": b"GEOGCS[" * 50}),
        lambda parts: zipped(parts | {"boundary.shx": b"\0" * 500}),
        lambda parts: zipped({".shp": parts["boundary.shp"], ".shx": parts["boundary.shx"]}),
        lambda parts: zipped(parts | {"x" * 300 + ".shp": b"x"}),
    ],
)  # fmt: skip
def test_a_damaged_archive_is_read_or_refused_in_a_sentence(parts, damage):
    try:
        found = read_boundary(damage(parts), "land.zip", source_crs="EPSG:4326")
    except BoundaryFileError as refused:
        assert str(refused).startswith(("land.zip", "The ", "Some ")) and str(refused).endswith(".")
    else:
        assert found.area_m2 > 0


def test_a_layer_without_a_column_of_codes_is_refused(parts):
    with pytest.raises(BoundaryFileError, match="has no column ''"):
        read_layer(zipped(parts), "land.zip", code_column="")
