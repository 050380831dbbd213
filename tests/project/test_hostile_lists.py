"""A box that is sent several times, with numbers and texts that no box offers, is answered with a page: on every page with boxes."""

import copy
import re

import pytest
from django import forms
from django.db import transaction

from registry.forms.shared.fields import CodesField
from registry.models import Lot
from tests import factories
from tests.fuzz.targets import names_read
from tests.project.access_table import PUBLIC, address, routes
from tests.project.test_hidden_signs import all_forms
from tests.typed_text import Form, html_of

pytestmark = pytest.mark.django_db

# more than 64 bits (sqlite.org/datatype3.html), and more digits than Python reads (4,300); then what is not a key at all (a NUL is refused before
# any form reads it)
NUMBERS = ("9223372036854775808", "9" * 5000)
HOSTILE = (*NUMBERS, "-9223372036854775809", "1" + "0" * 400, "1e300", "x" * 300)
READ_BY_NAME = names_read()
OFFERS_CHOICES = {"select", "checkbox", "radio", "hidden"}


def pages(records, special):
    return sorted(address(name, pattern, records, special) for name, pattern, _view in routes() if name not in PUBLIC)


def answer(client, method, path, boxes):
    """The status of an answer; what it stored is taken back."""
    with transaction.atomic():
        status = getattr(client, method)(path, boxes).status_code
        transaction.set_rollback(True)
    return status


@pytest.mark.one_database  # SQLite, whose driver refuses such numbers; PostgreSQL compares them
def test_no_page_fails_over_a_list_with_hostile_values(client, shared_world):
    people, records, special = shared_world
    client.force_login(people["lead"])
    client.raise_request_exception = False
    wrong, lists = {}, 0
    for path in pages(records, special):
        with transaction.atomic():
            html = html_of(client.get(path))
            transaction.set_rollback(True)
        form = Form(html)
        filled = form.filled("5")
        chosen = [name for name, (kind, _value) in form.boxes.items() if kind in OFFERS_CHOICES and name in filled]
        lists += len(chosen)
        for bad in NUMBERS if chosen else ():
            status = answer(client, "post", path, filled | {name: [filled[name], bad] for name in chosen})
            if status >= 500:
                wrong[path, bad[:25]] = status
        asked = {*re.findall(r'<(?:input|select)[^>]*\bname="([^"]+)"', html), *READ_BY_NAME} - set(filled)
        if (status := answer(client, "get", path, {name: ["5", *NUMBERS] for name in asked})) >= 500:
            wrong[path, "GET"] = status
    assert lists > 300
    assert wrong == {}


def test_every_choice_of_records_in_a_form_refuses_no_record():
    several = 0
    for form in all_forms():
        for declared in form.base_fields.values():
            if not isinstance(declared, forms.ModelChoiceField):
                continue
            field = copy.deepcopy(declared)
            # some forms limit their choices to the person, once they are made
            field.queryset = Lot.objects.all() if declared.queryset is None else declared.queryset.model._base_manager.all()
            takes_list = isinstance(field, forms.ModelMultipleChoiceField)
            several += takes_list
            for bad in HOSTILE:
                with pytest.raises(forms.ValidationError):
                    field.clean(["1", bad] if takes_list else bad)
    assert several >= 5


def test_a_box_for_codes_takes_thousands_of_them():
    lots = [factories.seed_lot(code=f"L{number}") for number in range(3)]
    codes = [f"l{number}" for number in range(3)]
    box = CodesField(Lot)
    assert box.clean(", ".join(codes)) == lots
    with pytest.raises(forms.ValidationError, match="“x0”"):
        box.clean(",".join([*codes, *(f"x{number}" for number in range(3_000))]))
