"""Stores photos and scans of filled-in field forms, with their round and, where it is known, their page."""

from pathlib import PurePath

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext

from plantings.models import FormScan
from registry.calc.shared.pictures import PictureFault, plain_jpeg
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.permits.documents import SIZE_MAX_BYTES, file_keep

__all__ = ["form_scans_add"]

_TYPES = ("JPEG", "PNG", "WEBP", "TIFF")
_SIDE_MOST = 2400  # pixels: a letter page has 220 to the inch, enough to read handwriting
_PIXELS_MOST = 80_000_000  # of the file that came in; more than any phone's camera makes


@write
def form_scans_add(*, actor, census_round, files, page=None):
    """Store the files (content, name) of a round, all or none: a picture as a JPEG without what its camera wrote into it, a PDF as it is.

    A file that the round or the page has already is not stored twice. Returns the FormScans that are new.
    """
    if page is not None and page.round_id != census_round.pk:
        raise ValidationError({"page_code": gettext("This page is of another round.")})
    made = []
    for content, filename in files:
        content, filename = _as_stored(content, filename)
        file = file_keep(actor=actor, content=content, filename=filename)
        if FormScan.objects.filter(round=census_round, page=page, file=file).exists():
            continue
        scan = FormScan(round=census_round, page=page, file=file, entered_by=actor, entered_at=timezone.now())
        scan.full_clean()
        made.append(append_row(scan))
    if made:
        changes = {"scans": [None, len(made)], "page": [None, page.code if page else ""]}
        audit_record(actor=actor, verb="censusround.form_scanned", obj=census_round, changes=changes)
    return made


def _as_stored(content, filename):
    """(content, name) of a file as it is stored."""
    if len(content) > SIZE_MAX_BYTES:
        words = gettext("%(name)s is larger than %(most)s MiB. Scan it at a lower resolution.")
        raise ValidationError({"files": words % {"name": filename, "most": SIZE_MAX_BYTES // 1024**2}})
    if content.startswith(b"%PDF-"):
        return content, f"{PurePath(filename).stem}.pdf"
    try:
        picture, _width, _height = plain_jpeg(content, types=_TYPES, pixels_most=_PIXELS_MOST, side_most=_SIDE_MOST)
        return picture, f"{PurePath(filename).stem}.jpg"
    except PictureFault:
        words = gettext("%(name)s cannot be read as a picture. Send a JPG, PNG or PDF.")
        raise ValidationError({"files": words % {"name": filename}}) from None
