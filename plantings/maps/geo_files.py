"""Opening a file of shapes that somebody sends: what kind it is, whether it is safe to read, its features.

Every fault is one sentence (`BoundaryFileError`) that says what is wrong and what to do. A file is read only as
what its first bytes say it is and under a name we give, so that no file can make the reader open another.
"""

import io
import json
import tempfile
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING
from xml.etree import ElementTree

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

LARGEST_FILE_BYTES = 20_000_000
LARGEST_UNPACKED_BYTES = 200_000_000

SQLITE_SIGNATURE = b"SQLite format 3\x00"
FLATGEOBUF_SIGNATURE = b"fgb\x03fgb"
SHAPEFILE_SIGNATURE = b"\x00\x00\x27\x0a"
ZIP_SIGNATURE = b"PK"
ZIPPED = (".shp", ".kml", ".gpkg", ".geojson")  # what makes a zip file one of shapes
SHAPEFILE_PARTS = (".shp", ".shx", ".dbf", ".prj", ".cpg")
GEOJSON_TYPES = ("FeatureCollection", "Feature", "Polygon", "MultiPolygon", "GeometryCollection", "Topology")
ONE_DRAWING = (".kml", ".geojson")  # files without layers to choose from
KINDS_READ = "GeoJSON, GeoPackage, KML, or a zipped shapefile"


class BoundaryFileError(ValueError):
    """A file that holds no usable shapes; the message is for the person who sent it."""


def read_frame(
    source: str | Path | bytes,
    filename: str = "",
    *,
    layer: str | None = None,
    source_crs: str | None = None,
    any_format: bool = False,
) -> "GeoDataFrame":
    """All features of one layer of a file, in the reference system of the file; see `read_boundary`.

    With `any_format` (an administrator's own file) whatever single file geopandas reads is read, by its ending.
    """
    content, filename = _content(source, filename)
    with tempfile.TemporaryDirectory() as folder:
        path = _write_down(content, filename, Path(folder), any_format)
        frame = _read(path, layer, filename)
    return with_crs(frame[~no_shape(frame)].reset_index(drop=True), source_crs, filename)


def read_features(content: bytes, filename: str, *, layer: str = "", source_crs: str = "") -> "tuple[GeoDataFrame, list[str]]":
    """Every feature of one layer in the order of the file, those without a shape too, and the names of the layers to choose from.

    Raises BoundaryFileError, also where there are several layers and `layer` names none.
    """
    content, filename = _content(content, filename)
    with tempfile.TemporaryDirectory() as folder:
        path = _write_down(content, filename, Path(folder), any_format=False)
        names = [] if path.suffix in ONE_DRAWING else _shape_layers(path, filename)
        if len(names) > 1 and not layer:
            raise BoundaryFileError(f"{filename} has several layers ({', '.join(names)}). Say which one to read.")
        frame = _read(path, (layer or names[0]) if names else None, filename)
    return with_crs(frame, source_crs, filename), names


def layer_names(content: bytes, filename: str) -> list[str]:
    """The layers of a file to choose from; empty for one that is read as a whole, such as KML."""
    content, filename = _content(content, filename)
    with tempfile.TemporaryDirectory() as folder:
        path = _write_down(content, filename, Path(folder), any_format=False)
        return [] if path.suffix in ONE_DRAWING else _shape_layers(path, filename)


def is_map_file(content: bytes) -> bool:
    """Whether a file is one of those read here, or meant to be one, by what it begins with and not by its name."""
    if content.startswith((SQLITE_SIGNATURE, FLATGEOBUF_SIGNATURE, SHAPEFILE_SIGNATURE)):
        return True
    if content.startswith(ZIP_SIGNATURE):
        try:
            names = zipfile.ZipFile(io.BytesIO(content)).namelist()
        except (zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError, OSError, ValueError):
            return False
        return any(name.lower().endswith(ZIPPED) for name in names) and not any(name.startswith("xl/") for name in names)
    start = content[:4096].removeprefix(b"\xef\xbb\xbf").lstrip()
    return start.startswith(b"{") and b'"' in start or start.startswith(b"<") and b"<kml" in start


def no_shape(frame: "GeoDataFrame"):
    """Which features have no shape, or an empty one."""
    return frame.geometry.isna() | frame.geometry.is_empty


def with_crs(frame: "GeoDataFrame", source_crs: str | None, filename: str) -> "GeoDataFrame":
    """Features in the reference system of their file, or in the one that is named for a file that declares none."""
    if no_shape(frame).all():
        raise BoundaryFileError(f"{filename} is empty: it holds no feature with a shape.")
    return frame.set_crs(_asked_for(source_crs, filename)) if frame.crs is None else frame


def _content(source: str | Path | bytes, filename: str) -> tuple[bytes, str]:
    name = PurePosixPath(filename.replace("\\", "/")).name
    if not isinstance(source, bytes):
        path = Path(source)
        if not path.is_file():
            raise BoundaryFileError(f"There is no file {path.name}. Check the name.")
        name = name or path.name
        _check_size(path.stat().st_size, name)
        source = path.read_bytes()
    name = name or "The file"
    _check_size(len(source), name)
    return source, name


def _check_size(size: int, name: str) -> None:
    if size > LARGEST_FILE_BYTES:
        raise BoundaryFileError(
            f"{name} is {size / 1e6:.0f} MB; the limit is {LARGEST_FILE_BYTES / 1e6:.0f} MB. Export only what is needed."
        )
    if size == 0:
        raise BoundaryFileError(f"{name} is empty. Export it again.")


def _write_down(content: bytes, filename: str, folder: Path, any_format: bool) -> Path:
    """Write the file under a name we give that fits what its content is."""
    if content.startswith(ZIP_SIGNATURE):
        return _unpack(content, filename, folder)
    if content.startswith(SHAPEFILE_SIGNATURE):
        raise BoundaryFileError(f"{filename} is only one part of a shapefile. Put the .shp, .shx, .dbf and .prj files in one zip file.")
    path = folder / f"boundary{_suffix(content, filename, any_format)}"
    path.write_bytes(content)
    return path


def _suffix(content: bytes, filename: str, any_format: bool) -> str:
    start = content[:4096].removeprefix(b"\xef\xbb\xbf").lstrip()
    if content.startswith(SQLITE_SIGNATURE):
        return ".gpkg"
    if content.startswith(FLATGEOBUF_SIGNATURE):
        return ".fgb"
    if start.startswith(b"{"):
        return ".geojson"
    root = _root_element(content, filename) if start.startswith(b"<") else ""
    if root == "kml":
        return ".kml"
    ending = PurePosixPath(filename).suffix.lower()
    # a virtual layer is refused: it is a list of other files to open
    if any_format and ending[1:].isalnum() and root != "ogrvrtdatasource" and ending != ".vrt":
        return ending
    raise BoundaryFileError(f"{filename} is not a boundary file Mastbook reads. Send {KINDS_READ}.")


def _root_element(content: bytes, filename: str) -> str:
    # Looked for before anything is parsed, so that there is nothing hostile to expand.
    if b"<!ENTITY" in content or b"<!DOCTYPE" in content or b"\x00" in content[:4096]:
        raise BoundaryFileError(f"{filename} is not plain UTF-8 KML, or declares XML entities. Export it again as plain KML.")
    try:
        _, root = next(ElementTree.iterparse(io.BytesIO(content), events=("start",)))
    except (ElementTree.ParseError, StopIteration) as error:
        raise BoundaryFileError(f"{filename} is damaged: it is not well-formed XML ({error}). Export it again.") from error
    return root.tag.rpartition("}")[2].lower()


def _unpack(content: bytes, filename: str, folder: Path) -> Path:
    """Take the parts of the one shapefile out of a zip, under names we give: nothing else is ever written."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
        entries = [entry for entry in archive.infolist() if not _is_clutter(entry)]
        _check_entries(entries, filename)
        shapes = [entry for entry in entries if entry.filename.lower().endswith(".shp")]
        if any(entry.filename.lower().endswith(".kml") for entry in entries):
            raise BoundaryFileError(f"{filename} is a KMZ file, or a zipped KML. Save the outline as KML.")
        if len(shapes) != 1:
            found = f"{len(shapes)} shapefiles; keep one" if shapes else "no .shp file; add all parts of the shapefile"
            raise BoundaryFileError(f"{filename} holds {found}.")
        stem = shapes[0].filename[:-4].lower()
        for entry in entries:
            part = entry.filename.lower()
            if part[:-4] == stem and part[-4:] in SHAPEFILE_PARTS:
                (folder / f"boundary{part[-4:]}").write_bytes(archive.read(entry))
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, OSError, ValueError) as error:
        if isinstance(error, BoundaryFileError):
            raise
        raise BoundaryFileError(f"{filename} cannot be unpacked: damaged or locked with a password. Zip it again.") from error
    if not (folder / "boundary.shx").exists():
        raise BoundaryFileError(f"{filename} has no .shx file beside the .shp. Zip all parts of the shapefile.")
    return folder / "boundary.shp"


def _is_clutter(entry) -> bool:
    # is_dir of the library fails on an entry without a name
    return entry.filename.endswith("/") or entry.filename.startswith("__MACOSX/")


def _check_entries(entries, filename: str) -> None:
    for entry in entries:
        if not entry.filename:
            raise BoundaryFileError(f"{filename} holds a file without a name. Zip it again.")
        path = PurePosixPath(entry.filename.replace("\\", "/"))
        if path.is_absolute() or ".." in path.parts or ":" in entry.filename:
            raise BoundaryFileError(f"{filename} holds a file that points outside the zip ({entry.filename}). Zip it again.")
    if sum(entry.file_size for entry in entries) > LARGEST_UNPACKED_BYTES:
        raise BoundaryFileError(f"{filename} unpacks to more than {LARGEST_UNPACKED_BYTES / 1e6:.0f} MB. Export only what is needed.")


def _read(path: Path, layer: str | None, filename: str) -> "GeoDataFrame":
    import geopandas
    import pandas
    from shapely.errors import ShapelyError

    if path.suffix == ".geojson":
        _check_geojson(path, filename)
    try:
        layers = _layers_to_read(path, layer, filename)
        frames = [geopandas.read_file(path, layer=name) for name in layers]
    except BoundaryFileError:
        raise
    except ShapelyError as error:
        raise BoundaryFileError(
            f"{filename} has an outline that cannot be drawn: each ring needs at least three corners and ends at the point where it "
            "begins, each line at least two points. Close it where it was made, and export it again."
        ) from error
    except Exception as error:  # the readers raise whatever they meet in a damaged file
        raise BoundaryFileError(f"{filename} is damaged or cut short and cannot be read. Export it again.") from error
    shaped = [frame for frame in frames if isinstance(frame, geopandas.GeoDataFrame) and len(frame)]
    if not shaped:
        raise BoundaryFileError(f"{filename} is empty: it holds no feature with a shape.")
    return shaped[0] if len(shaped) == 1 else pandas.concat(shaped, ignore_index=True)


def _shape_layers(path: Path, filename: str) -> list[str]:
    """The layers that have shapes; programs keep styles in tables beside them."""
    import pyogrio

    try:
        return [str(name) for name, kind in pyogrio.list_layers(path) if kind is not None]
    except Exception as error:  # the readers raise whatever they meet in a damaged file
        raise BoundaryFileError(f"{filename} is damaged or cut short and cannot be read. Export it again.") from error


def _layers_to_read(path: Path, layer: str | None, filename: str) -> list[str]:
    """Folders of a KML file are one drawing; the layers of other files are different things, so one must be named."""
    import pyogrio

    found = [(str(name), str(kind or "")) for name, kind in pyogrio.list_layers(path)]
    names = [name for name, _ in found]
    if layer is not None:
        if layer not in names:
            raise BoundaryFileError(f"{filename} has no layer {layer!r}. Its layers: {', '.join(names)}.")
        return [layer]
    if path.suffix == ".kml" or len(found) == 1:
        return names
    areas = [name for name, kind in found if "Polygon" in kind or kind in ("Unknown", "GeometryCollection")]
    if len(areas) > 1:
        raise BoundaryFileError(f"{filename} has several layers with areas ({', '.join(areas)}). Say which layer to read.")
    return areas or names[:1]


def _check_geojson(path: Path, filename: str) -> None:
    try:
        document = json.loads(path.read_text(encoding="utf-8-sig"))
    except (ValueError, RecursionError) as error:  # not text, not JSON, a number of thousands of digits, nested too deep
        raise BoundaryFileError(f"{filename} is damaged: it is not valid JSON ({error}). Export it again.") from error
    if not isinstance(document, dict) or document.get("type") not in GEOJSON_TYPES:
        raise BoundaryFileError(f"{filename} is JSON but not GeoJSON. It needs features with shapes, or one shape.")
    if document.get("type") == "FeatureCollection" and not document.get("features"):
        raise BoundaryFileError(f"{filename} is empty: it holds no feature with a shape.")


def _asked_for(source_crs: str | None, filename: str):
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    if not source_crs:
        raise BoundaryFileError(
            f"{filename} does not say which coordinate reference system it uses. "
            "Name it (such as EPSG:4326 or EPSG:26918), or export the file with it."
        )
    try:
        return CRS.from_user_input(source_crs)
    except CRSError as error:
        raise BoundaryFileError(f"“{source_crs}” is not a coordinate reference system. Give a code such as EPSG:4326.") from error
