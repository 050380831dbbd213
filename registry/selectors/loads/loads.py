"""Sheets that were loaded: what each stored, and the rows that are still out."""

from django.db.models import F, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce

from registry.calc.sheets.key_ranges import in_ranges
from registry.models import Load, RowsSettled
from registry.models.audit import stored_name

__all__ = ["loads_listed", "loads_with_rows_out", "open_load", "rows_still_out", "withdrawn_ranges"]


def _settled():
    """Rows that count as settled: a load that was withdrawn has settled none."""
    return RowsSettled.objects.filter(Q(by__isnull=True) | Q(by__withdrawal__isnull=True))


def loads_listed(loads):
    """Loads with how many of their rows are still out (`rows_out`), and their withdrawal."""
    count = _settled().filter(load=OuterRef("pk")).order_by().values("load").annotate(n=Sum("count")).values("n")
    return loads.select_related("entered_by", "withdrawal").annotate(rows_out=F("aside_count") - Coalesce(Subquery(count), 0))


def loads_with_rows_out(user):
    """Loads this person may see that have rows out. One query."""
    return loads_listed(Load.objects.for_user(user).filter(aside_count__gt=0, withdrawal__isnull=True)).filter(rows_out__gt=0)


def rows_still_out(load):
    """[[row of the file, what to correct]] of the rows that a load set aside and nothing has settled; none once it is withdrawn."""
    if load.withdrawn:
        return []
    settled = {row for rows in _settled().filter(load=load).values_list("rows", flat=True) for row in rows}
    return [line for line in load.aside if line[0] not in settled]


def open_load(key, kind):
    """The load of a kind that a rest says it belongs to, None where there is none or it was withdrawn."""
    return Load.objects.filter(pk=key, kind=kind, withdrawal__isnull=True).first()


def withdrawn_ranges(model):
    """[[first key, last key]] of the records of a type that withdrawn loads had stored, and of later corrections of what those had brought,
    which went with them; in order."""
    name = stored_name(model)
    loads = Load.objects.filter(withdrawal__isnull=False, stored__has_key=name).values_list("stored", flat=True)
    found = sorted(pair for stored in loads for pair in stored[name])
    if not found or all(field.name != "supersedes" for field in model._meta.fields):
        return found
    corrected = dict(model._base_manager.filter(supersedes__isnull=False).order_by("pk").values_list("pk", "supersedes"))
    later = set()
    for key, before in corrected.items():
        if before in later or (before not in corrected and in_ranges(found, before)):
            later.add(key)
    later = {key for key in later if not in_ranges(found, key)}
    return sorted([*found, *([key, key] for key in later)])
