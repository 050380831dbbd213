"""Sites: their jurisdiction is found from the point, their area from the boundary; neither is typed."""

import io

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import transaction

from plantings.maps.boundary_files import BoundaryFileError, read_boundary, read_layer
from plantings.maps.jurisdiction import SUBDIVISION, JurisdictionLayer, find_jurisdictions, shipped_layers
from plantings.models import BoundaryLayer, Site
from registry.services.audit import audit_record
from registry.services.records import record_save

__all__ = ["boundary_layer_add", "jurisdictions_renew", "site_save", "site_set_boundary"]


def _layers():
    """The administrator's own layers first: where they cover a point they win over the shipped ones."""
    import geopandas

    own = []
    for layer in BoundaryLayer.objects.all():
        with layer.file.open("rb") as file:
            own.append(JurisdictionLayer(layer.name, SUBDIVISION, geopandas.read_file(io.BytesIO(file.read()))))
    return (*own, *shipped_layers())


def _locate(sites):
    """Set jurisdiction and basis of sites that have a point; one spatial join for all."""
    placed = [site for site in sites if site.longitude is not None and site.latitude is not None]
    found = find_jurisdictions([(site.longitude, site.latitude) for site in placed], _layers()) if placed else []
    for site in sites:
        site.jurisdiction = site.jurisdiction_basis = ""
    for site, answer in zip(placed, found, strict=True):
        site.jurisdiction = answer.code or ""
        site.jurisdiction_basis = " ".join(filter(None, (f"{answer.name}, from layer {answer.layer}." if answer.layer else "", answer.note)))


@transaction.atomic
def site_save(*, actor, site, reason=""):
    """Store a site; when its point is new or moved, its jurisdiction is found anew."""
    before = Site.objects.filter(pk=site.pk).values_list("longitude", "latitude").first() if site.pk else None
    if before is None or before != (site.longitude, site.latitude):
        site.clean_fields()
        _locate([site])
    return record_save(actor=actor, obj=site, reason=reason)


@transaction.atomic
def site_set_boundary(*, actor, site, content, filename, source_crs=None):
    """Keep the outline of a site from a file. Returns the `Boundary`, with notes on what was done to the file."""
    try:
        boundary = read_boundary(content, filename, source_crs=source_crs or None)
    except BoundaryFileError as error:
        raise ValidationError({"file": str(error)}) from error
    site.boundary, site.area_m2 = boundary.geojson, boundary.area_m2
    record_save(actor=actor, obj=site, reason=f"boundary from {filename}")
    return boundary


@transaction.atomic
def boundary_layer_add(*, actor, name, source, content, filename, code_column, name_column="", source_crs=None):
    """Add an administrator's layer of jurisdictions and find the jurisdiction of every site anew."""
    try:
        frame = read_layer(content, filename, code_column=code_column, name_column=name_column or None, source_crs=source_crs or None)
    except BoundaryFileError as error:
        raise ValidationError({"file": str(error)}) from error
    layer = BoundaryLayer(name=name, code_column=code_column, name_column=name_column, source=source)
    layer.file.save(f"{name}.geojson", ContentFile(frame.to_json(drop_id=True).encode()), save=False)
    layer.full_clean()
    layer.save()
    audit_record(actor=actor, verb="boundarylayer.added", obj=layer)
    jurisdictions_renew(actor=actor)
    return layer


@transaction.atomic
def jurisdictions_renew(*, actor):
    """Find the jurisdiction of every site anew. Returns the sites whose jurisdiction changed."""
    sites = list(Site.objects.all())
    before = {site.pk: site.jurisdiction for site in sites}
    _locate(sites)
    for site in sites:
        record_save(actor=actor, obj=site, reason="a boundary layer changed")
    return [site for site in sites if site.jurisdiction != before[site.pk]]
