"""Points of trees: where somebody measured each of them, from sheets and map files, and out again."""

import zipfile

import geopandas
import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Point, box
from shapely.geometry import mapping

from plantings.exports.book import book_export
from plantings.exports.book_places import places_write
from plantings.imports.trees import TreeSheet
from plantings.imports.withdrawing import load_take_back
from plantings.maps.outline_shapes import distances_m
from plantings.models import Site, Tree
from plantings.services.tree_lists.moves import tree_move
from plantings.services.trees import TreeAsPlanted, tree_replace, trees_plant
from registry.imports.sheets.formats import export_bytes
from registry.imports.sheets.plan import SheetRefused
from registry.selectors.audit.verify_states import state_faults
from tests import factories
from tests.plantings.plantings.point_sheets import HEAD, SOUTH, WEST, load, planting_of_lead, points

pytestmark = pytest.mark.django_db

BY_TAG = {
    "tag": "TREE", "planting": {"constant": "P"}, "lot": {"constant": "L"},
    "longitude": "Longitude (degrees, WGS 84)", "latitude": "Latitude (degrees, WGS 84)",
}  # fmt: skip


@pytest.fixture
def lead():
    return planting_of_lead()


def refused(lead, content, **given):
    with pytest.raises(SheetRefused) as found:
        load(lead, content, **given)
    return [str(problem) for problem in found.value.plan.problems]


def written(tmp_path, name, **columns):
    frame = geopandas.GeoDataFrame(columns, geometry=[Point(WEST, SOUTH), Point(WEST + 0.001, SOUTH)], crs=4326)
    path = tmp_path / name
    if path.suffix == ".zip":
        frame.to_file(path.with_suffix(".shp"))
        with zipfile.ZipFile(path, "w") as archive:
            for part in sorted(tmp_path.glob(f"{path.stem}.*")):
                if part.suffix != ".zip":
                    archive.write(part, part.name)
    else:
        frame.to_file(path, driver="KML" if path.suffix == ".kml" else None)
    return path.read_bytes()


@pytest.mark.parametrize("name", ["trees.gpkg", "trees.geojson", "trees.kml", "trees.zip"])
def test_points_of_each_map_format_are_those_of_trees(lead, tmp_path, name):
    content = written(tmp_path, name, Name=["1", "2"])
    plan = load(lead, content, name, spec={"columns": BY_TAG | {"tag": "Name"}})
    assert plan.counts["new"] == 2 and points() == {"1": (WEST, SOUTH, None), "2": (WEST + 0.001, SOUTH, None)}


def test_a_sheet_gives_trees_on_file_their_points(lead):
    load(lead, HEAD + f"P,1,L,,,\nP,2,L,{WEST},{SOUTH},2.5\n")
    assert points() == {"1": (None, None, None), "2": (WEST, SOUTH, 2.5)}
    load(lead, HEAD + f"P,1,L,{WEST},{SOUTH},4\n", reason="walked with a receiver")
    assert points()["1"] == (WEST, SOUTH, 4.0)
    # the accuracy was that of the earlier point
    load(lead, HEAD + f"P,1,L,{WEST + 0.0001},{SOUTH},\n", reason="walked again")
    assert points()["1"] == (WEST + 0.0001, SOUTH, None)
    load(lead, HEAD + f"P,2,L,{WEST + 0.0001},{SOUTH},2.5\n", reason="walked again")
    assert points()["2"] == (WEST + 0.0001, SOUTH, 2.5)


def test_what_cannot_be_a_point_is_named_with_its_row(lead):
    rows = f"P,1,L,{WEST},,\nP,2,L,0,0,\nP,3,L,,,5\nP,4,L,{WEST},95,\nP,5,L,{WEST},{SOUTH},0\n"
    said = refused(lead, HEAD + rows)
    assert len(said) == 2  # cells that cannot be read come first
    assert "row 5" in said[0] and "outside -90 to 90" in said[0] and "row 6" in said[1] and "outside 0.001" in said[1]
    half, zero, alone = refused(lead, HEAD + rows.partition("P,4")[0])
    assert "row 2, column 'Latitude" in half and "Give both longitude and latitude, or neither." in half
    assert "row 3" in zero and "an empty position" in zero
    assert "row 4, column 'Accuracy" in alone and "give longitude and latitude too" in alone
    assert not Tree.objects.exists()


def test_a_point_far_from_its_site_asks_first(lead):
    """Distances: pyproj's geodesic on WGS 84, 0.05 degrees of longitude at 44.5 N is 3,976 m."""
    [said] = refused(lead, HEAD + f"P,1,L,{WEST},{SOUTH},\nP,2,L,{WEST + 0.05},{SOUTH},\n")
    assert (
        "row 3" in said
        and "The point is 4.0 km from the point of the site. If it is right all the same, say so under “Point is right”." in said
    )
    head = HEAD.replace("\n", ',"Point is right (yes/no)"\n')
    assert load(lead, head + f"P,2,L,{WEST + 0.05},{SOUTH},,yes\n").counts["new"] == 1
    # the answer is on no record
    assert load(lead, head + f"P,2,L,{WEST + 0.05},{SOUTH},,yes\n").load is None


def test_points_of_a_site_without_a_place_are_compared_with_each_other(lead):
    """A sheet may have the origin of each mother in its columns: such points would lie all over a country."""
    Site.objects.update(longitude=None, latitude=None)
    rows = "".join(f"P,{number},L,{WEST},{SOUTH},\n" for number in (1, 2, 3))
    [said] = refused(lead, HEAD + rows + f"P,4,L,{-WEST},{SOUTH},\n")
    assert "row 5" in said and "km from the middle of the points that came with it" in said
    load(lead, HEAD + rows)


def test_a_point_outside_the_boundary_asks_first(lead):
    site = Site.objects.get()
    site.boundary = mapping(box(WEST, SOUTH, WEST + 0.002, SOUTH + 0.002))
    site.save()
    # 0.001 degrees of longitude are 79.5 m there, 0.004 are 318 m
    [said] = refused(lead, HEAD + f"P,1,L,{WEST - 0.001},{SOUTH},\nP,2,L,{WEST - 0.004},{SOUTH},\n")
    assert "row 3" in said and "The point is 318 m outside the boundary of the site." in said
    load(lead, HEAD + f"P,1,L,{WEST - 0.001},{SOUTH},\n")
    tree = Tree.objects.get()
    with pytest.raises(ValidationError, match="5.6 km outside the boundary"):
        tree_move(actor=lead, tree=tree, longitude=WEST - 0.07, latitude=SOUTH, reason="typed")
    tree_move(actor=lead, tree=tree, longitude=WEST - 0.07, latitude=SOUTH, point_is_right=True, reason="surveyed")
    assert points()["1"][0] == WEST - 0.07
    # what is on file is not asked about again
    tree_move(actor=lead, tree=tree, note="by the road", reason="seen")


def test_distances_of_many_points_are_those_of_each():
    """Inside and on the line 0; outside by Vincenty's formula (1975) worked by hand to the metre: 0.001 degrees of latitude is 111 m."""
    outline = mapping(box(WEST, SOUTH, WEST + 0.002, SOUTH + 0.002))
    found = distances_m(outline, [(WEST + 0.001, SOUTH + 0.001), (WEST, SOUTH), (WEST + 0.001, SOUTH - 0.001)])
    assert found[:2] == [0.0, 0.0] and found[2] == pytest.approx(111.1, abs=0.1)


def test_the_database_refuses_half_a_point_and_an_accuracy_alone(lead):
    load(lead, HEAD + "P,1,L,,,\n")
    trees = Tree.objects.all()
    for wrong in ({"longitude": WEST}, {"latitude": SOUTH}, {"accuracy_m": 3}, {"longitude": 181, "latitude": 0}):
        with pytest.raises(IntegrityError), transaction.atomic():
            trees.update(**wrong)
    with pytest.raises(IntegrityError), transaction.atomic():
        trees.update(longitude=WEST, latitude=SOUTH, accuracy_m=0)


def test_a_point_changed_past_the_program_shows(lead):
    load(lead, HEAD + f"P,1,L,{WEST},{SOUTH},\n")
    assert state_faults()[1] == []
    Tree.objects.update(longitude=WEST + 0.001)
    [fault] = state_faults()[1]
    assert "trees of planting P" in fault and "changed outside the program" in fault


def test_a_replacement_has_the_point_of_its_position(lead):
    load(lead, HEAD + f"P,1,L,{WEST},{SOUTH},3\n")
    new = tree_replace(actor=lead, tree=Tree.objects.get(), tag="1b", planted_on=factories.day(2019, 11))
    assert (new.longitude, new.latitude, new.accuracy_m) == (WEST, SOUTH, 3)
    head = HEAD.replace("\n", ',"Replaces tag","Planted on (if not the planting date)"\n')
    load(lead, head + f"P,1c,L,{WEST + 0.0001},{SOUTH},,1b,2019-11-20\n")
    assert points()["1c"] == (WEST + 0.0001, SOUTH, None)
    assert "km from the point" in refused(lead, head + f"P,1d,L,{WEST + 1},{SOUTH},,1c,2019-11-21\n")[0]


def test_a_withdrawn_load_takes_the_points_back(lead):
    load(lead, HEAD + f"P,1,L,{WEST},{SOUTH},3\n")
    later = load(lead, HEAD + f"P,1,L,{WEST + 0.001},{SOUTH},\n", reason="walked").load
    load_take_back(actor=lead, load=later, reason="the wrong file")
    assert points() == {"1": (WEST, SOUTH, 3.0)} and state_faults()[1] == []


def test_a_far_point_that_was_right_comes_back_unasked(lead):
    load(lead, HEAD + "P,1,L,,,\n")
    tree_move(actor=lead, tree=Tree.objects.get(), longitude=WEST + 1, latitude=SOUTH, point_is_right=True, reason="surveyed")
    later = load(lead, HEAD + f"P,1,L,{WEST},{SOUTH},3\n", reason="walked").load
    load_take_back(actor=lead, load=later, reason="the wrong file")
    assert points() == {"1": (WEST + 1, SOUTH, None)}


def _nine(number):
    return round(number, 9)


_PLACES = st.tuples(
    st.floats(WEST - 0.01, WEST + 0.01).map(_nine), st.floats(SOUTH - 0.01, SOUTH + 0.01).map(_nine), st.none() | st.floats(0.001, 100).map(_nine)
)  # fmt: skip


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(places=st.lists(st.none() | _PLACES, min_size=1, max_size=6))
def test_points_come_back_from_every_sheet_and_map_file(lead, tmp_path_factory, places):
    """With nine decimals, a tenth of a millimetre; no receiver shows more, and a workbook holds hardly more."""
    with transaction.atomic():
        planting = factories.planting(code="Q")
        lot = factories.stock_lot(actor=lead, plants=9, code="M")
        rows = [
            TreeAsPlanted(f"{number}", lot, longitude=place and place[0], latitude=place and place[1], accuracy_m=place and place[2])
            for number, place in enumerate(places)
        ]
        trees_plant(actor=lead, planting=planting, trees=rows)
        before = points()
        for wanted in ("csv", "xlsx"):
            content = export_bytes(TreeSheet, Tree.objects.all(), wanted, lead)
            assert load(lead, content, f"trees.{wanted}").load is None
            factories.planting(code=f"Q{wanted}")
            spec = {
                "columns": {field: name for field, name in _headers() if field != "planting"} | {"planting": {"constant": f"Q{wanted}"}}
            }
            load(lead, content, f"trees.{wanted}", spec=spec)
            assert {
                tree.tag: (tree.longitude, tree.latitude, tree.accuracy_m) for tree in Tree.objects.filter(planting__code=f"Q{wanted}")
            } == before
        path = tmp_path_factory.mktemp("places") / "places.gpkg"
        places_write(path)
        if any(places):
            factories.planting(code="Qgpkg")
            spec = {
                "sheet": "tree",
                "columns": {field: field for field in ("tag", "lot", "role", "block", "row", "position", "accuracy_m")},
            }
            spec["columns"] |= {"planting": {"constant": "Qgpkg"}, "longitude": HEADERS["longitude"], "latitude": HEADERS["latitude"]}
            spec["rows"] = [{"column": "planting", "is": "Q"}]
            load(lead, path.read_bytes(), "places.gpkg", spec=spec)
            found = {tree.tag: (tree.longitude, tree.latitude, tree.accuracy_m) for tree in Tree.objects.filter(planting__code="Qgpkg")}
            assert found == {tag: point for tag, point in before.items() if point[0] is not None}
        transaction.set_rollback(True)


HEADERS = {name: field.column_name for name, field in TreeSheet.sheet_fields().items()}


def _headers():
    return [(name, header) for name, header in HEADERS.items() if name != "point_is_right"]


def test_the_tree_layer_of_an_export_changes_nothing(lead, tmp_path):
    load(lead, HEAD + f"P,1,L,{WEST},{SOUTH},2.5\nP,2,L,{WEST + 0.001},{SOUTH},\nP,3,L,,,\n")
    places_write(tmp_path / "places.gpkg")
    plan = load(lead, (tmp_path / "places.gpkg").read_bytes(), "places.gpkg", spec={"sheet": "tree"})
    assert plan.counts["unchanged"] == 2 and plan.load is None
    book_export(tmp_path / "records")
    assert "longitude" in (tmp_path / "records/tables/tree.csv").read_text().partition("\n")[0]
    assert {"places.gpkg"} <= {path.name for path in (tmp_path / "records").iterdir()}
