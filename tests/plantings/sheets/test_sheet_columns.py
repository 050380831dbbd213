"""What a sheet brings in can also be typed into a form, and is shown on the page of its record."""

import pytest
from django.db import models
from django.urls import NoReverseMatch, reverse

from plantings.imports.kinds import SHEETS
from registry.models.append_only import AppendOnly
from tests import factories
from tests.project.access_table import routes
from tests.project.test_sql_counts import one_more_of_everything

pytestmark = pytest.mark.django_db
# Columns without a box of their own name: typed into a form of the page that the record belongs to.
NOT_TYPED = {
    "handbook": {"verified_on", "verified_by"},
    "lot_component": {"bulk", "component", "count", "bulked_on"},
    "shipment": {"lot", "form", "quantity", "draw_on"},
    "site": {"boundary"},  # the form takes it as a file
    "leftover": {"outcome", "count", "on", "note"},
}
# Texts that a page shows only together with another value, or reads from the version of a paper.
SHOWN_WITH_OTHERS = {
    "pedigree_tree": {"status_reason"},
    "site": {"status_reason"},
    "rule": {"verified_with", "verified_by"},
    "authorization": {"conditions", "cap_unit", "verified_by"},
}


def columns(sheet):
    """Fields of the record that a sheet brings in."""
    return {field.attribute for field in sheet.sheet_fields().values()} & {field.name for field in sheet.model._meta.fields}


def boxes(model):
    """Names of the boxes of all forms about records of a type."""
    views = [view.callback.view_class for name, _path, view in routes() if hasattr(view.callback, "view_class")]
    forms = [(view.form_class, getattr(view, "model", None)) for view in views if isinstance(getattr(view, "form_class", None), type)]
    about = [form for form, owner in forms if model in (owner, getattr(getattr(form, "_meta", None), "model", None))]
    return {name for form in about for name in form.base_fields}


def test_every_column_has_a_box_in_a_form():
    sheets = [sheet for sheet in SHEETS if boxes(sheet.model) and not issubclass(sheet.model, AppendOnly)]
    missing = {sheet.kind: columns(sheet) - boxes(sheet.model) for sheet in sheets}
    assert {kind: names for kind, names in missing.items() if names} == NOT_TYPED


def texts(sheet):
    """Columns that hold any text, or none."""
    fields = [sheet.model._meta.get_field(name) for name in sorted(columns(sheet) - SHOWN_WITH_OTHERS.get(sheet.kind, set()))]
    return [field for field in fields if isinstance(field, models.CharField | models.TextField) and field.blank and not field.choices]


def detail_page(record):
    try:
        return reverse(f"{record._meta.model_name}_detail", args=[record.pk]) if record else None
    except NoReverseMatch:
        return None


def test_every_text_of_a_sheet_is_on_the_page_of_its_record(client):
    lead = factories.person("lead")
    client.force_login(lead)
    one_more_of_everything(lead)
    hidden, looked_at = [], 0
    for sheet in SHEETS:
        record = None if issubclass(sheet.model, AppendOnly) else sheet.model.objects.first()
        page = detail_page(record)
        for field in texts(sheet) if page else ():
            mark = f"mark {field.name}"[: field.max_length or 200]
            sheet.model.objects.filter(pk=record.pk).update(**{field.name: mark})
            looked_at += 1
            if mark not in client.get(page).content.decode():
                hidden.append(f"{sheet.kind}: {field.name}")
            sheet.model.objects.filter(pk=record.pk).update(**{field.name: getattr(record, field.name)})
    assert looked_at >= 20 and hidden == []
