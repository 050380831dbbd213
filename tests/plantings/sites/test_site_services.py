"""Sites: jurisdiction from the point, outline from a file, layers somebody adds."""

import json

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from plantings.models import Block, BoundaryLayer, Site
from plantings.selectors.sites import places
from plantings.services.sites import boundary_layer_add, boundary_layer_withdraw, jurisdictions_renew, site_save, site_set_boundary
from registry.models import AuditEntry
from registry.selectors.audit.record_hashes import HASHES
from tests import factories

pytestmark = pytest.mark.django_db

VERMONT = (-73.2, 44.48)  # Burlington is in Vermont, US-VT in ISO 3166-2
PENNSYLVANIA = (-77.8678, 40.7935)  # State College is in Pennsylvania, US-PA


def site_at(lon, lat, **fields):
    return Site(code=f"S{factories.number()}", name="Hollow", partner=factories.partner(), longitude=lon, latitude=lat, **fields)


def square(lon, lat, side):
    ring = [[lon, lat], [lon + side, lat], [lon + side, lat + side], [lon, lat + side], [lon, lat]]
    return {"type": "Polygon", "coordinates": [ring]}


def layer_file(code, lon, lat, side=1.0):
    feature = {"type": "Feature", "properties": {"iso": code, "title": "Example district"}, "geometry": square(lon, lat, side)}
    return json.dumps({"type": "FeatureCollection", "features": [feature]}).encode()


def test_the_jurisdiction_is_found_from_the_point_and_says_how():
    site = site_save(actor=factories.person(), site=site_at(*VERMONT))
    assert site.jurisdiction == "US-VT"
    assert site.jurisdiction_basis == "inside: Vermont (layer US states)."


def test_a_moved_point_finds_its_new_jurisdiction():
    actor = factories.person()
    site = site_save(actor=actor, site=site_at(*VERMONT))
    site.longitude, site.latitude = PENNSYLVANIA
    assert site_save(actor=actor, site=site).jurisdiction == "US-PA"


def test_a_site_without_a_point_has_no_jurisdiction():
    site = site_save(actor=factories.person(), site=site_at(None, None))
    assert (site.jurisdiction, site.jurisdiction_basis) == ("", "")


def test_a_jurisdiction_set_by_hand_needs_a_reason_and_stays():
    actor = factories.person()
    with pytest.raises(ValidationError, match="Say why the jurisdiction"):
        site_save(actor=actor, site=site_at(*VERMONT), jurisdiction="US-NY")
    site = site_save(actor=actor, site=site_at(*VERMONT), jurisdiction="US-NY", reason="surveyed east of the line")
    site.name = "Renamed"
    site_save(actor=actor, site=site)
    jurisdictions_renew(actor=actor)
    site.refresh_from_db()
    assert (site.jurisdiction, site.jurisdiction_basis) == ("US-NY", "by hand: surveyed east of the line")


def test_a_blank_jurisdiction_takes_back_what_was_set_by_hand():
    actor = factories.person()
    site = site_save(actor=actor, site=site_at(*VERMONT), jurisdiction="US-NY", reason="guessed")
    assert site_save(actor=actor, site=site, jurisdiction="").jurisdiction == "US-VT"


@pytest.mark.parametrize(("lon", "lat", "field"), [(0, 0, "longitude"), (-73.2, 144.4, "latitude"), (200, 44.4, "longitude")])
def test_a_point_that_cannot_be_right_is_refused_at_its_field(lon, lat, field):
    with pytest.raises(ValidationError) as refused:
        site_save(actor=factories.person(), site=site_at(lon, lat))
    assert list(refused.value.message_dict) == [field]


def test_half_a_point_is_refused_and_nothing_is_stored():
    with pytest.raises(ValidationError, match="Give both longitude"):
        site_save(actor=factories.person(), site=site_at(-73.2, None))
    assert not Site.objects.exists()


def test_a_boundary_is_stored_with_its_area_on_the_ellipsoid():
    actor, site = factories.person(), factories.site(longitude=10.0005, latitude=45.0005)
    boundary = site_set_boundary(actor=actor, site=site, content=json.dumps(square(10, 45, 0.001)).encode(), filename="plot.geojson")
    site.refresh_from_db()
    # From memory: at 45° a degree of latitude is 111.132 km long, one of longitude 78.847 km (WGS 84).
    assert site.area_m2 == pytest.approx(111.132 * 78.847, rel=0.001)
    assert site.boundary["type"] == "Polygon"
    assert boundary.notes == ()
    changes = AuditEntry.objects.get(verb="site.boundary_set").changes
    changes.pop(HASHES)  # what verify compares the site with
    assert changes == {"area": [None, "0.88 ha from plot.geojson"], "boundary": [None, site.boundary]}


def test_a_boundary_far_from_the_point_or_too_large_asks_first():
    """From memory: at 45° a degree of longitude is 78.847 km long (WGS 84), less 0.1 km of the square."""
    site, actor = factories.site(longitude=11, latitude=45), factories.person()
    given = {"actor": actor, "site": site, "filename": "x.geojson"}
    small, large = (json.dumps(square(10, 45, side)).encode() for side in (0.001, 0.1))
    with pytest.raises(ValidationError, match="This outline is 78.8 km from the point of the site"):
        site_set_boundary(**given, content=small)
    with pytest.raises(ValidationError, match="This outline has 8,7.. ha, more than any planting"):
        site_set_boundary(**given, content=large)
    site.refresh_from_db()
    assert site.boundary is None
    boundary = site_set_boundary(**given, content=small, is_meant=True)
    assert boundary.notes == ("The point of the site is outside this boundary. Check which of the two is right.",)


def test_a_file_that_holds_no_outline_leaves_the_boundary_as_it_was():
    site = factories.site()
    with pytest.raises(ValidationError) as refused:
        site_set_boundary(actor=factories.person(), site=site, content=b"not a boundary", filename="notes.txt")
    assert "notes.txt is not a boundary file" in refused.value.message_dict["file"][0]
    site.refresh_from_db()
    assert site.boundary is None


def test_an_added_layer_comes_before_the_shipped_ones():
    actor = factories.person()
    inside = site_save(actor=actor, site=site_at(*VERMONT))
    outside = site_save(actor=actor, site=site_at(*PENNSYLVANIA))
    layer, changed = boundary_layer_add(
        actor=actor, name="Districts", source="made for a test", code_column="iso", name_column="title",
        content=layer_file("CA-QC", -73.7, 44.0), filename="districts.geojson",
    )  # fmt: skip
    assert changed == [inside]
    inside.refresh_from_db()
    outside.refresh_from_db()
    assert (inside.jurisdiction, outside.jurisdiction) == ("CA-QC", "US-PA")
    assert layer.file.name.endswith(".geojson")


def test_a_layer_without_its_code_column_is_refused():
    with pytest.raises(ValidationError) as refused:
        boundary_layer_add(
            actor=factories.person(), name="Districts", source="made for a test", code_column="code",
            content=layer_file("IT-25", 10, 45), filename="districts.geojson",
        )  # fmt: skip
    assert "Its columns: iso, title" in refused.value.message_dict["code_column"][0]
    assert not BoundaryLayer.objects.exists()


@pytest.mark.parametrize("code", ["XX-AA", "US-ZZ", "us-vt", "Vermont"])  # none of them is a code of ISO 3166-1 or 3166-2
def test_a_layer_with_an_unknown_code_is_refused(code):
    actor = factories.person()
    site = site_save(actor=actor, site=site_at(*VERMONT))
    layer = json.loads(layer_file("CA-QC", -75, 46))
    layer["features"] += json.loads(layer_file(code, -73.7, 44.0))["features"] + json.loads(layer_file("YY", 10, 45))["features"]
    with pytest.raises(ValidationError) as refused:
        boundary_layer_add(
            actor=actor, name="Districts", source="made for a test", code_column="iso", name_column="title",
            content=json.dumps(layer).encode(), filename="districts.geojson",
        )  # fmt: skip
    message = refused.value.message_dict["code_column"][0]
    assert message.startswith("Feature 2, Example district:") and code in message and "1 more" in message
    site.refresh_from_db()
    assert site.jurisdiction == "US-VT" and not BoundaryLayer.objects.exists()


def test_a_jurisdiction_that_does_not_exist_is_not_set_by_hand():
    with pytest.raises(ValidationError) as refused:
        site_save(actor=factories.person(), site=site_at(*VERMONT), jurisdiction="XX-AA", reason="surveyed")
    assert "no country has the code XX" in refused.value.message_dict["jurisdiction"][0]
    assert not Site.objects.exists()


def test_a_withdrawn_layer_is_no_longer_used_but_stays_on_record():
    actor = factories.person()
    inside, outside = site_save(actor=actor, site=site_at(*VERMONT)), site_save(actor=actor, site=site_at(*PENNSYLVANIA))
    by_hand = site_save(actor=actor, site=site_at(*VERMONT), jurisdiction="US-NH", reason="surveyed")
    layer, _changed = boundary_layer_add(
        actor=actor, name="Districts", source="made for a test", code_column="iso",
        content=layer_file("CA-QC", -73.7, 44.0), filename="districts.geojson",
    )  # fmt: skip
    file = layer.file.name
    with pytest.raises(ValidationError):
        boundary_layer_withdraw(actor=actor, layer=layer, reason=" ")
    assert boundary_layer_withdraw(actor=actor, layer=layer, reason="drawn for another country") == [inside]
    found = dict(Site.objects.values_list("pk", "jurisdiction"))
    assert found == {inside.pk: "US-VT", outside.pk: "US-PA", by_hand.pk: "US-NH"}
    entry = AuditEntry.objects.get(verb="boundarylayer.withdrawn")
    assert (entry.record_label, entry.reason) == ("Districts", "drawn for another country")
    assert entry.changes == {
        "name": ["Districts", None], "source": ["made for a test", None], "code_column": ["iso", None], "file": [file, None],
    }  # fmt: skip
    assert BoundaryLayer._meta.get_field("file").storage.exists(file)
    moved = AuditEntry.objects.filter(verb="site.changed", record_id=inside.pk).latest("pk")
    assert "layer Districts was withdrawn: drawn for another country" in moved.reason


@pytest.mark.parametrize("half", [{"longitude": -73.0}, {"latitude": 44.0}])
def test_the_database_itself_refuses_half_a_point(half):
    planting = factories.planting()
    with pytest.raises(IntegrityError), transaction.atomic():
        Block.objects.create(planting=planting, code="x", **half)
    with pytest.raises(IntegrityError), transaction.atomic():
        Site.objects.create(code="x", name="x", partner=planting.site.partner, **half)


def test_a_layer_whose_file_is_gone_is_named_and_can_be_withdrawn():
    actor = factories.person()
    layer, _changed = boundary_layer_add(
        actor=actor, name="Districts gone", source="made for a test", code_column="iso",
        content=layer_file("CA-QC", -73.7, 44.0), filename="districts.geojson",
    )  # fmt: skip
    places._added_layer.cache_clear()
    layer.file.storage.delete(layer.file.name)
    with pytest.raises(ValidationError, match="The file of the layer Districts gone is missing or damaged"):
        site_save(actor=actor, site=site_at(*VERMONT))
    boundary_layer_withdraw(actor=actor, layer=layer, reason="its file is gone")
    assert site_save(actor=actor, site=site_at(*VERMONT)).jurisdiction == "US-VT"
