"""Map files loaded as sheets: sites made and updated from one layer, points of sites and blocks, positions of trees by their tags."""

import io
import json
import zipfile

import geopandas
import pytest
from django.core.management import CommandError, call_command
from shapely import GeometryCollection, LineString, MultiPoint, MultiPolygon, Point, Polygon, box
from shapely.geometry import shape

from plantings.exports.book_places import places_write
from plantings.imports.combined.loading import combined_load
from plantings.imports.loading import plan_file, sheet_load
from plantings.imports.withdrawing import load_take_back
from plantings.maps.map_tables import INSIDE, POINT, read_map_table
from plantings.models import Block, Site, Tree
from registry.imports.loads.rest import rest_bytes
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.reading_options import SheetError
from registry.models import AuditEntry
from registry.selectors.audit.verify_states import state_faults
from tests import factories

pytestmark = pytest.mark.django_db
WEST, SOUTH = -73.2150, 44.4810
SQUARE = box(-73.215, 44.481, -73.213, 44.482)  # about 159 by 111 m
INSIDE_POINT = {"longitude": INSIDE[0], "latitude": INSIDE[1]}


@pytest.fixture
def lead():
    factories.partner(code="PT-1")
    return factories.person("lead")


@pytest.fixture
def written(tmp_path):
    """A function that writes shapes with their attributes and gives the content of the file."""

    def write(shapes, name="stands.gpkg", crs=4326, to=4326, **columns):
        frame = geopandas.GeoDataFrame(columns, geometry=list(shapes), crs=crs)
        frame = frame.to_crs(to) if crs and to != crs else frame
        layer = {"layer": name.partition(":")[2]} if ":" in name else {}
        path = tmp_path / name.partition(":")[0]
        if path.suffix == ".zip":
            frame.to_file(path.with_suffix(".shp"))
            with zipfile.ZipFile(path, "w") as archive:
                for part in sorted(tmp_path.glob(f"{path.stem}.*")):
                    if part.suffix != ".zip" and (crs or part.suffix != ".prj"):
                        archive.write(part, part.name)
        else:
            frame.to_file(path, driver="KML" if path.suffix == ".kml" else None, **layer)
        return path.read_bytes()

    return write


def site_columns(**columns):
    """A mapping that takes the codes of a layer, and the partner for all."""
    return {"columns": {"code": "STAND", "name": "STAND", "partner": {"constant": "PT-1"}, "boundary": "Boundary"} | columns}


def load(lead, content, filename="stands.gpkg", kind="site", **given):
    return sheet_load(actor=lead, kind=kind, content=content, filename=filename, **given)


def problems(lead, content, filename="stands.gpkg", kind="site", **given):
    with pytest.raises(SheetRefused) as refused:
        load(lead, content, filename, kind, **given)
    return [str(problem) for problem in refused.value.plan.problems]


@pytest.mark.parametrize("name", ["stands.geojson", "stands.zip", "stands.kml"])
def test_each_format_gives_the_same_columns(written, name):
    table = read_map_table(written([SQUARE], name, Name=["A-1"]), name)
    row = dict(zip(table.headers, table.rows[0], strict=True))
    assert shape(json.loads(row["Boundary"])).equals(SQUARE) and row["Name"] == "A-1" and table.notes == []
    assert (row[INSIDE[0]], row[INSIDE[1]]) == (-73.214, 44.4815)


def test_an_attribute_without_a_name_or_with_one_of_ours_is_a_column_too():
    feature = {"type": "Feature", "geometry": {"type": "Point", "coordinates": [WEST, SOUTH]}}
    attributes = {"latitude (degrees, wgs 84)": 1, "": "x"}
    document = {"type": "FeatureCollection", "features": [feature | {"properties": attributes}]}
    table = read_map_table(json.dumps(document).encode(), "a.json")
    assert table.headers == [*POINT, "latitude (degrees, wgs 84) (attribute)", "Attribute 2"]
    assert table.rows == [(WEST, SOUTH, 1, "x")]


def test_two_attributes_of_one_name_are_named(lead, written):
    given, changed = zipfile.ZipFile(io.BytesIO(written([SQUARE], "stands.zip", code=["A-1"], cod2=["B-1"]))), io.BytesIO()
    with zipfile.ZipFile(changed, "w") as archive:
        for name in given.namelist():
            archive.writestr(name, given.read(name).replace(b"cod2", b"code") if name.endswith(".dbf") else given.read(name))
    with pytest.raises(SheetError, match="has the column 'code' twice. Rename one of them."):
        load(lead, changed.getvalue(), "stands.zip")


def test_one_layer_makes_and_updates_all_sites(lead, written):
    factories.site(code="A-1", longitude=WEST, latitude=SOUTH)
    content = written([SQUARE, box(WEST + 0.01, SOUTH, WEST + 0.012, SOUTH + 0.001)], STAND=["A-1", "A-2"])
    plan = load(lead, content, spec=site_columns(**INSIDE_POINT), reason="stands of 2026")
    assert (plan.counts["new"], plan.counts["changed"]) == (1, 1)
    old, new = Site.objects.order_by("code")
    assert shape(old.boundary).equals(SQUARE) and old.area_m2 == pytest.approx(17_689, rel=0.001)
    assert (new.longitude, new.latitude) == pytest.approx((WEST + 0.011, SOUTH + 0.0005)) and new.jurisdiction == "US-VT"
    entry = AuditEntry.objects.filter(verb="site.boundary_set", record_id=old.pk).get()
    assert entry.reason == "stands of 2026" and entry.changes["area"][1] == "1.77 ha from a map file"


def test_a_file_in_metres_is_turned_into_degrees_and_says_from_what(lead, written):
    plan = load(lead, written([SQUARE], to=26918, STAND=["A-1"]), spec=site_columns())
    assert shape(Site.objects.get().boundary).hausdorff_distance(SQUARE) < 2e-7
    assert "Turned from EPSG:26918 (NAD83 / UTM zone 18N) into WGS 84." in plan.notes


@pytest.mark.filterwarnings("ignore:'crs' was not provided")
def test_a_file_without_a_reference_system_is_asked_for_it(lead, written):
    content = written([SQUARE], "stands.zip", crs=None, STAND=["A-1"])
    with pytest.raises(SheetError, match="stands.zip does not say which coordinate reference system"):
        load(lead, content, "stands.zip", spec=site_columns())
    load(lead, content, "stands.zip", spec=site_columns() | {"crs": "EPSG:4326"})
    assert shape(Site.objects.get().boundary).equals(SQUARE)


def test_a_boundary_that_may_be_wrong_asks_first(lead, written):
    factories.site(code="A-1", longitude=WEST + 0.2, latitude=SOUTH)
    content = written([SQUARE, box(WEST, SOUTH, WEST + 0.2, SOUTH + 0.2)], STAND=["A-1", "A-2"])
    far, large = problems(lead, content, spec=site_columns(), reason="stands")
    assert "row 1" in far and "15.8 km from the point" in far and "row 2" in large and "35,301 ha" in large and "yes for this row" in large
    spec = site_columns(boundary_is_right={"from": "STAND", "values": {"A-1": "yes", "A-2": "yes"}})
    assert load(lead, content, spec=spec, reason="stands").counts["new"] == 1
    # the answer is on no record, so the same file changes nothing
    assert load(lead, content, spec=spec).load is None


def test_each_shape_that_is_no_boundary_is_named_with_its_row(lead, written):
    crossed = Polygon([(WEST, SOUTH), (WEST + 0.002, SOUTH + 0.001), (WEST + 0.002, SOUTH), (WEST, SOUTH + 0.001)])
    hole = SQUARE.difference(box(WEST + 0.0005, SOUTH + 0.0002, WEST + 0.001, SOUTH + 0.0005))
    comb = Polygon([(WEST + 0.002 * (at * 500 % 1001) / 1001, SOUTH + 0.001 * (at % 7)) for at in range(1001)])
    many = Point(WEST, SOUTH).buffer(0.001, quad_segs=6000)
    shapes = [
        crossed, hole, MultiPolygon([SQUARE, box(WEST, SOUTH + 0.002, WEST + 0.002, SOUTH + 0.003)]), LineString([(WEST, SOUTH), (WEST, 45)]),
        GeometryCollection([GeometryCollection([SQUARE, Point(WEST, SOUTH)])]), None, comb, many, SQUARE, SQUARE,
    ]  # fmt: skip
    codes = ["crossed", "hole", "two", "line", "nested", "none", "comb", "many", "twice", "twice"]
    shapes[9] = box(WEST, SOUTH, WEST + 0.001, SOUTH + 0.001)
    content = written(shapes, "stands.geojson", STAND=codes)
    plan = plan_file("site", content, "stands.geojson", site_columns())[2]
    said = {problem.row: problem.message for problem in plan.problems}
    assert set(said) == {4, 7, 8, 10}
    assert "encloses no area" in said[4] and "in too many places to repair" in said[7] and "more than 20,000 corners" in said[8]
    assert "contradicts row 9, which says '1.77 ha, 4 corners'" in said[10]
    assert [(warning.row, warning.message) for warning in plan.warnings] == [
        (1, "repaired (self-intersection): check the shape on the map")
    ]
    assert "Beside areas, points and lines are left out of row 5." in plan.notes
    assert "No shape in row 6: their cells are blank." in plan.notes
    assert plan.problems[0].value == "line of 2 points"


def test_an_area_whose_corners_lie_on_one_line_has_no_point_inside(written):
    """Corners of many digits can collapse onto one line: nothing is left of it once it is repaired."""
    flat = Polygon([(WEST, SOUTH), (WEST + 0.1, SOUTH + 0.1), (WEST + 0.1, SOUTH + 0.1), (WEST, SOUTH)])
    table = read_map_table(written([flat, SQUARE], "stands.geojson", STAND=["A-1", "A-2"]), "stands.geojson")
    assert INSIDE[0] in table.headers and table.rows[1][table.headers.index(INSIDE[0])] == -73.214


def test_wrong_rows_are_set_aside_and_their_rest_comes_back(lead, written):
    content = written([SQUARE, LineString([(WEST, SOUTH), (WEST, 45)])], STAND=["A-1", "A-2"])
    plan = load(lead, content, spec=site_columns(), set_aside=True)
    assert Site.objects.get().code == "A-1" and plan.load.aside_count == 1
    rest = rest_bytes(plan.load, content, plan.load.aside, "csv").decode("utf-8-sig")
    assert rest.splitlines()[1].startswith("line of 2 points,,,A-2,")
    closed = json.dumps({"type": "Polygon", "coordinates": [[list(corner) for corner in SQUARE.exterior.coords]]}).replace('"', '""')
    corrected = rest.replace("line of 2 points", f'"{closed}"').encode()
    assert load(lead, corrected, "rest.csv", spec=plan.load.spec).counts["new"] == 1
    plan.load.refresh_from_db()
    assert shape(Site.objects.get(code="A-2").boundary).equals(SQUARE)


def test_a_withdrawn_load_gives_the_earlier_boundary_again(lead, written):
    site = factories.site(code="A-1", longitude=WEST, latitude=SOUTH, elevation_m=None)
    spec = site_columns(elevation_m={"constant": 310})
    first = load(lead, written([SQUARE], STAND=["A-1"]), spec=spec, reason="stands").load
    second = load(lead, written([SQUARE, SQUARE.buffer(0.0001)], STAND=["A-2", "A-1"]), spec=site_columns(), reason="stands").load
    load_take_back(actor=lead, load=second, reason="the wrong file")
    site.refresh_from_db()
    assert shape(site.boundary).equals(SQUARE) and Site.objects.count() == 1
    load_take_back(actor=lead, load=first, reason="the wrong file")
    site.refresh_from_db()
    assert (site.boundary, site.area_m2, site.elevation_m) == (None, None, None) and state_faults()[1] == []


def test_points_are_the_points_of_sites_and_of_blocks(lead, written):
    points = [Point(WEST, SOUTH), MultiPoint([(WEST + 0.01, SOUTH)])]
    spec = {"columns": {"code": "STAND", "name": "STAND", "partner": {"constant": "PT-1"}, "longitude": "Longitude (degrees, WGS 84)",
                        "latitude": "Latitude (degrees, WGS 84)"}}  # fmt: skip
    plan = load(lead, written(points, STAND=["A-1", "A-2"]), spec=spec)
    assert "they can be the points of sites, blocks or trees, not boundaries" in plan.notes[0]
    assert list(Site.objects.values_list("longitude", "latitude")) == [(WEST, SOUTH), (WEST + 0.01, SOUTH)]
    with pytest.raises(SheetError, match="the file has: .*they can be the points of sites, blocks or trees"):
        load(lead, written(points, STAND=["A-1", "A-2"]), spec=site_columns())
    planting = factories.planting()
    load(lead, written(points, "blocks.geojson", planting=[planting.code] * 2, code=["1", "2"]), "blocks.geojson", "block")
    assert Block.objects.get(code="2").longitude == WEST + 0.01


def test_trees_of_a_map_file_take_their_row_and_position_by_tag(lead, written):
    factories.trees(factories.planting(), count=1)
    tree = Tree.objects.get()
    content = written([Point(-73.2, 44.5)], planting=[tree.planting.code], tag=[tree.tag], row=[4], position=[7])
    plan = load(lead, content, kind="tree", reason="walked again")
    assert Tree.objects.filter(pk=tree.pk).values_list("row", "position", "longitude", "latitude").get() == (4, 7, -73.2, 44.5)
    assert plan.not_taken == []


def test_the_places_of_an_export_come_back_and_change_nothing(lead, written, tmp_path):
    hole = SQUARE.difference(box(WEST + 0.0005, SOUTH + 0.0002, WEST + 0.001, SOUTH + 0.0005))
    load(lead, written([hole, SQUARE], to=26918, STAND=["A-1", "A-2"]), spec=site_columns(**INSIDE_POINT))
    before = list(Site.objects.values())
    places_write(tmp_path / "places.gpkg")
    content = (tmp_path / "places.gpkg").read_bytes()
    with pytest.raises(SheetError, match=r"several layers \(site, site_boundary\)"):
        load(lead, content, "places.gpkg")
    for layer in ("site", "site_boundary"):
        plan = load(lead, content, "places.gpkg", spec={"sheet": layer})
        assert plan.counts["unchanged"] == 2 and list(Site.objects.values()) == before
    Site.objects.all().delete()
    for layer in ("site", "site_boundary"):
        load(lead, content, "places.gpkg", spec={"sheet": layer}, reason="from the export")
    same = ("code", "name", "partner_id", "longitude", "latitude", "boundary", "jurisdiction")
    assert list(Site.objects.values(*same)) == [{name: site[name] for name in same} for site in before]


def test_several_map_files_join_one_sheet_by_key(lead, written):
    files = {
        "stands.gpkg": written([SQUARE], to=26918, STAND=["a-1"]),
        "corners.geojson": written([Point(WEST, SOUTH)], "corners.geojson", PLOT=["7"]),
    }
    spec = {
        "second_sheets": {"stands": {"file": "stands.gpkg", "by": {"Site": "STAND"}}, "corners": {"file": "corners.geojson", "by": {"Plot": "PLOT"}}},
        "parts": {
            "site": site_columns(code="Site", name="Site", boundary="stands.Boundary", longitude="corners.Longitude (degrees, WGS 84)",
                                 latitude="corners.Latitude (degrees, WGS 84)"),
        },
    }  # fmt: skip
    combined_load(actor=lead, content=b"Site,Plot\nA-1,7\n", filename="notes.csv", spec=spec, files=files)
    site = Site.objects.get()
    assert (site.longitude, site.latitude) == (WEST, SOUTH) and shape(site.boundary).hausdorff_distance(SQUARE) < 2e-7


def test_the_command_loads_a_map_file(lead, written, tmp_path, capsys):
    written([SQUARE], "stands.gpkg:stands 2026", STAND=["A-1"])
    written([Point(WEST, SOUTH)], "stands.gpkg:gates", STAND=["A-1"])
    mapping = tmp_path / "mapping.json"
    mapping.write_text(json.dumps(site_columns()))
    with pytest.raises(CommandError, match=r"several layers \(stands 2026, gates\)"):
        call_command("load", "site", str(tmp_path / "stands.gpkg"), "--columns", str(mapping))
    mapping.write_text(json.dumps(site_columns() | {"sheet": "stands 2026"}))
    call_command("load", "site", str(tmp_path / "stands.gpkg"), "--columns", str(mapping))
    assert "stored 1 new" in capsys.readouterr().out and Site.objects.get().area_m2 == pytest.approx(17_689, rel=0.001)
