"""What a table of `export_book` says of itself: a Table Schema (Data Package 2.0), and the same in words for its README."""

from django.db import models
from django.utils.translation import override

from registry.models import Load
from registry.selectors.audit.book_cells import field_kind
from registry.selectors.audit.book_tables import BookTable, table_name

__all__ = ["column_words", "table_schema", "table_words", "unit_of"]

_TYPES = {
    "text": ("string", None),
    "whole": ("integer", None),
    "number": ("number", None),
    "decimal": ("number", None),
    "yes_no": ("boolean", None),
    "day": ("date", None),
    "part_day": ("string", None),
    "moment": ("datetime", None),
    "uuid": ("string", "uuid"),
}
_IN_WORDS = {
    "text": "text", "whole": "whole number", "number": "number", "decimal": "decimal number", "yes_no": "true or false", "day": "day",
    "part_day": "day, month (2026-10) or year (2026)", "moment": "moment in UTC", "uuid": "identifier", "json": "JSON",
}  # fmt: skip
# the unit of a column by the end of its name
_UNITS = {
    "_cm": "cm", "_mm": "mm", "_m": "m", "_m2": "m²", "_g": "g", "_c": "°C", "_bytes": "bytes", "minutes": "minutes", "_days": "days",
    "longitude": "degrees east (WGS 84)", "latitude": "degrees north (WGS 84)", "percent": "percent of 100", "share": "share of 1",
    "days_before": "days",
}  # fmt: skip
_LIST_OR_OBJECT = {(Load, "before")}  # of a load of several kinds, lists by kind
_UNITS_WITHIN = {"bath_c_": "°C", "_days_": "days", "per_kg": "seeds per kg", "per_lb": "seeds per pound"}


def table_schema(table: BookTable) -> dict:
    """The Table Schema of a table: columns with their types, units and codes, the key, and where it points to."""
    schema = {"fields": [_field(field) for field in table.fields], "missingValues": [""], "primaryKey": ["id"]}
    pointing = [
        {"fields": [field.attname], "reference": {"resource": table_name(field.related_model), "fields": ["id"]}}
        for field in table.fields
        if field.related_model
    ]
    if pointing:
        schema["foreignKeys"] = pointing
    if unique := _unique(table):
        schema["uniqueKeys"] = unique
    return schema


def table_words(table: BookTable) -> str:
    """What a row of a table is, in a sentence or two."""
    model = table.model
    if model._meta.auto_created:
        one, other = (field.related_model for field in table.fields if field.related_model)
        return f"Which rows of {table_name(other)} belong to which row of {table_name(one)}."
    about = " ".join((model.__doc__ or "").split())
    return "" if about.startswith(f"{model.__name__}(") else about  # Django writes such a line where a model has no text


def column_words(field) -> str:
    """A column in words for the README: what it holds, its unit, where it points to, its codes."""
    parts = [_IN_WORDS[field_kind(field)]]
    if field.related_model:
        parts = [f"a row of {table_name(field.related_model)}, by its id"]
    if unit := unit_of(field):
        parts.append(f"in {unit}")
    if title := _title(field):
        parts.append(title)
    if about := _plain(field.help_text):
        parts.append(about.rstrip("."))
    if field.unique and not field.primary_key:
        parts.append("no two rows have the same")
    if codes := _codes(field):
        parts.append("; ".join(str(code) if str(code) == label else f"{code} = {label}" for code, label in codes))
    return ", ".join(parts)


def unit_of(field) -> str:
    """The unit that the name of a column says, or ""."""
    if field_kind(field) not in {"whole", "number", "decimal"} or field.related_model:
        return ""
    within = next((unit for part, unit in _UNITS_WITHIN.items() if part in field.name), "")
    return within or next((unit for end, unit in _UNITS.items() if field.name.endswith(end)), "")


def _field(field):
    kind = field_kind(field)
    if kind == "json":
        either = (field.model, field.name) in _LIST_OR_OBJECT
        said = {"type": "any" if either else "array" if field.default is list else "object" if field.default is dict else "any"}
    else:
        type_, form = _TYPES[kind]
        said = {"type": type_} | ({"format": form} if form else {})
    said = {"name": field.attname} | said
    if title := _title(field):
        said["title"] = title
    if about := _plain(field.help_text):
        said["description"] = about
    if unit := unit_of(field):
        said["unit"] = unit
    if codes := _codes(field):
        said["categories"] = [{"value": code, "label": label} for code, label in codes]
    if constraints := _constraints(field, kind):
        said["constraints"] = constraints
    return said


def _constraints(field, kind):
    found = {}
    if kind != "text" and not field.null:
        found["required"] = True  # a text may be empty
    if field.unique:
        found["unique"] = True
    if kind == "text" and field.max_length:
        found["maxLength"] = field.max_length
    if kind == "part_day":
        found["pattern"] = "[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?"
    if isinstance(field, (models.PositiveIntegerField, models.PositiveSmallIntegerField, models.PositiveBigIntegerField)):
        found["minimum"] = 0
    return found


def _unique(table):
    by_name = {field.name: field for field in table.fields}
    found = []
    for constraint in table.model._meta.constraints:
        if isinstance(constraint, models.UniqueConstraint) and constraint.fields and not constraint.condition:
            fields = [by_name[name] for name in constraint.fields]
            if not any(field.null for field in fields):
                found.append([field.attname for field in fields])
    return found


def _codes(field):
    return [(code, _plain(label)) for code, label in field.flatchoices if code not in {"", None}]


def _title(field):
    """The name of a column on screen, where it says more than the column itself."""
    words = _plain(field.verbose_name)
    return "" if words.lower() in {field.name.replace("_", " "), field.attname.replace("_", " "), "id"} else words


def _plain(text):
    with override("en"):
        return str(text)
