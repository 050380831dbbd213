"""Sites and their places: jurisdiction from the point, outline from a file, layers of jurisdictions somebody adds."""

import hashlib
from dataclasses import replace
from uuid import uuid4

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile

from plantings.calc.sites.outlines import outline_doubts
from plantings.choices import LayerKind
from plantings.models import BoundaryLayer, Site
from plantings.selectors.sites.local_texts import SITE_TEXTS, without_english
from plantings.selectors.sites.places import BY_HAND, TYPED, SitePlace, found_places
from registry.compliance.gate.place_codes import check_region
from registry.compliance.shared.counties import county_fault, county_name
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.shared.disk_words import disk_words
from registry.services.shared.records import record_save

__all__ = [
    "boundary_layer_add",
    "boundary_layer_withdraw",
    "jurisdictions_renew",
    "point_check",
    "site_save",
    "site_set_boundary",
    "site_set_outline",
]

_BASIS_LENGTH = Site._meta.get_field("jurisdiction_basis").max_length


@write
def site_save(*, actor, site, jurisdiction=None, county=None, reason=""):
    """Store a site, the jurisdiction and the county it lies in.

    Parameters
    ----------
    jurisdiction : str, optional
        A code (ISO 3166-2) sets it by hand, which needs a reason; "" finds it from the point again. Left
        out, it is found when the point is new or has moved, and one set by hand stays.
    county : str, optional
        A name is stored as typed and not checked against an outline; "" finds it from the point again, in the United States.

    Raises
    ------
    ValidationError
        For a point that cannot be right, a text in another language without its English, and where a record breaks a rule of its own row.
    """
    point_check(site.longitude, site.latitude)
    texts_check(site, SITE_TEXTS)
    if jurisdiction:
        _set_by_hand(site, jurisdiction, reason)
    elif jurisdiction == "":
        site.jurisdiction_basis = ""
    if county == "":
        site.county_basis = ""
    if jurisdiction is not None or county is not None or _point_is_new(site):
        _find_place(site)
    if county:
        _type_county(site, county)
    return record_save(actor=actor, obj=site, reason=reason)


def point_check(longitude, latitude):
    """Refuse, at its field, half a point and one that cannot be right."""
    from plantings.calc.sites.geometry import CoordinateError, check_lon_lat

    if longitude is None and latitude is None:
        return
    if longitude is None or latitude is None:
        missing = "longitude" if longitude is None else "latitude"
        raise ValidationError({missing: "Give both longitude and latitude, or neither."})
    try:
        check_lon_lat(longitude, latitude)
    except CoordinateError as error:
        raise ValidationError({"latitude" if str(error).startswith("Latitude") else "longitude": str(error)}) from None


def texts_check(record, names):
    """Refuse, at its field, a text of a site or planting that pages in English would leave out."""
    words = "Write it in English too: without that, whoever reads English sees nothing here."
    if missing := without_english(record, names):
        raise ValidationError(dict.fromkeys(missing, words))


def _set_by_hand(site, jurisdiction, reason):
    if site.jurisdiction == jurisdiction and site.jurisdiction_basis.startswith(BY_HAND):
        return
    if not reason.strip():
        raise ValidationError({"reason": "Say why the jurisdiction is set by hand."})
    if fault := _code_fault(jurisdiction):
        raise ValidationError({"jurisdiction": fault})
    site.jurisdiction, site.jurisdiction_basis = jurisdiction, f"{BY_HAND}: {reason}"[:_BASIS_LENGTH]


def _type_county(site, county):
    if fault := county_fault(site.jurisdiction, county):
        raise ValidationError({"county": fault})
    name = county_name(site.jurisdiction, county)
    if name == site.county and not any("/" in pattern for pattern in site.near):
        return  # it is the county of the outline, beyond doubt
    site.county, site.county_basis = name, TYPED
    _find_place(site)


def _find_place(site):
    """Fill in what is found of the place of a site. Returns whether anything is new."""
    before = {name: getattr(site, name) for name in SitePlace._fields}
    found = found_places([site])[0]._asdict()
    for name, value in found.items():
        setattr(site, name, value)
    return found != before


def _code_fault(code):
    """Why a code names no place that exists; "" when it does."""
    try:
        check_region(code)
    except ValueError as error:
        return str(error)
    return ""


def _point_is_new(site):
    stored = Site.objects.filter(pk=site.pk).values_list("longitude", "latitude").first() if site.pk else None
    return not site.jurisdiction_basis or stored != (site.longitude, site.latitude)


@write
def site_set_boundary(*, actor, site, content, filename, source_crs="", layer="", column="", value="", is_meant=False):
    """Take the outline of a site from a file. Returns the `Boundary`, with notes on what a person should know about it.

    `column` and `value` choose the features of a layer with many. Raises ValidationError for a file without an outline, and, unless
    somebody says that it `is_meant`, for one much larger than a planting or far from the point of the site.
    """
    from plantings.maps.boundary_files import read_boundary
    from plantings.maps.geo_files import BoundaryFileError

    try:
        outline = read_boundary(content, filename, layer=layer or None, source_crs=source_crs or None, column=column, value=value)
    except BoundaryFileError as error:
        raise ValidationError({"file": str(error)}) from None
    doubts = outline_doubts(outline.area_m2, _distance_m(site, outline.geojson))
    if doubts and not is_meant:
        raise ValidationError(
            {"is_meant": f"{' '.join(doubts)} If this is the outline all the same, tick this box and send the file again."}
        )
    site_set_outline(actor=actor, site=site, outline=outline, source=filename)
    return replace(outline, notes=(*outline.notes, *_point_notes(site)))


@write
def site_set_outline(*, actor, site, outline, source, reason=""):
    """Store the outline of a site, which has been checked; None where it has none any more. `source` says where it is from, in words."""
    before, outline_before = _hectares(site.area_m2), site.boundary
    site.boundary, site.area_m2 = (outline.geojson, outline.area_m2) if outline else (None, None)
    _find_place(site)
    site.full_clean()
    site.save(update_fields=["boundary", "area_m2", *SitePlace._fields])
    # both outlines are in the audit entry, so that a replaced boundary can be restored
    after = f"{_hectares(site.area_m2)} from {source}" if outline else None
    changes = {"area": [before, after], "boundary": [outline_before, site.boundary]}
    audit_record(actor=actor, verb="site.boundary_set", obj=site, changes=changes, reason=reason)
    return site


def _hectares(area_m2):
    return None if area_m2 is None else f"{area_m2 / 10_000:.2f} ha"


def _distance_m(site, geojson):
    """How far the point of a site is from an outline; None without a point."""
    from plantings.maps.outline_shapes import distance_m

    return None if site.longitude is None else distance_m(geojson, (site.longitude, site.latitude))


def _point_notes(site):
    inside = not _distance_m(site, site.boundary)
    return [] if inside else ["The point of the site is outside this boundary. Check which of the two is right."]


@write
def boundary_layer_add(
    *, actor, name, source, code_column, content, filename, name_column="", layer="", source_crs="", kind=LayerKind.JURISDICTIONS
):  # fmt: skip
    """Store a layer of jurisdictions, or of areas that rules name by code, and look up every site again.

    Returns (layer, sites that changed).
    """
    from plantings.maps.boundary_files import read_layer
    from plantings.maps.geo_files import BoundaryFileError

    record = BoundaryLayer(kind=kind, name=name, source=source, code_column=code_column, name_column=name_column)
    record.full_clean(exclude=["file"])
    try:
        frame = read_layer(
            content, filename, code_column=code_column, name_column=name_column or None, layer=layer or None, source_crs=source_crs or None
        )
    except BoundaryFileError as error:
        raise ValidationError({"code_column" if "column" in str(error) else "file": str(error)}) from None
    (_refuse_unknown_codes if kind == LayerKind.JURISDICTIONS else _refuse_unusable_codes)(frame)
    outlines = frame.to_json().encode()
    with disk_words(filename):
        record.file.save(f"{uuid4()}.geojson", ContentFile(outlines), save=False)
    record.save()
    changes = {"areas": [None, len(frame)], "sha256": [None, hashlib.sha256(outlines).hexdigest()]}
    audit_record(actor=actor, verb="boundarylayer.added", obj=record, changes=changes)
    return record, jurisdictions_renew(actor=actor, reason=f"layer {name} was added")


def _refuse_unknown_codes(frame):
    """A mistyped code would move sites to a place that does not exist, where no rule holds."""
    faults = {code: fault for code in sorted(set(frame["code"])) if (fault := _code_fault(code))}
    if not faults:
        return
    wrong = frame[frame["code"].isin(list(faults))]
    first = wrong.iloc[0]
    words = f"Feature {wrong.index[0] + 1}, {first['name']}: {faults[first['code']]}"
    more = f" {len(wrong) - 1} more have a code that does not exist." if len(wrong) > 1 else ""
    raise ValidationError({"code_column": f"{words}{more} Correct the codes in the file, or name another column."})


def _refuse_unusable_codes(frame):
    """A rule names an area as area:CODE, with commas between several places."""
    if wrong := [code for code in sorted(set(frame["code"])) if not code.strip() or set(",;") & set(code)]:
        raise ValidationError({"code_column": f"“{wrong[0]}” cannot be the code of an area. Leave out commas and semicolons."})


@write
def boundary_layer_withdraw(*, actor, layer, reason):
    """Take a layer away and find the jurisdictions of the sites from what remains. Returns the sites that changed.

    What the layer was stays in the audit trail; its file stays in the data folder under the name that is written there.
    """
    if not reason.strip():
        raise ValidationError({"reason": "Say why the layer is withdrawn."})
    was = {name: getattr(layer, name) for name in ("name", "source", "code_column", "name_column")} | {"file": layer.file.name}
    changes = {name: [value, None] for name, value in was.items() if value}
    audit_record(actor=actor, verb="boundarylayer.withdrawn", obj=layer, changes=changes, reason=reason)
    layer.delete()
    return jurisdictions_renew(actor=actor, reason=f"layer {was['name']} was withdrawn: {reason}")


@write
def jurisdictions_renew(*, actor, reason="a boundary layer changed"):
    """Look up the place of every site again; what was set by hand stays. Returns the sites whose answer changed."""
    sites = list(Site.objects.all())
    changed = []
    for site, place in zip(sites, found_places(sites), strict=True):
        found = place._asdict()
        if any(getattr(site, name) != value for name, value in found.items()):
            for name, value in found.items():
                setattr(site, name, value)
            changed.append(record_save(actor=actor, obj=site, reason=reason))
    return changed
