"""Every page of a print makes a file that can be read, records it, and is reached from the page of its record."""

import pytest

from registry.models import IssuedPrint
from registry.views.prints.print_view import PrintView
from tests.prints.reading import page_texts
from tests.project.access_table import address, routes
from tests.project.one_of_everything import world

pytestmark = pytest.mark.django_db
LINKS = ("lots", "shipments", "trees", "authorizations")
REACHED_BY_A_FORM = {"authorization_year"}  # the permit file asks for the year


def filled(form):
    """What the page of a print sends when somebody presses its button; of a box without a default its first choice."""
    data = {}
    for name, field in form.fields.items():
        value = form[name].value()
        if value in (None, "") and getattr(field, "choices", None):
            value = next(code for code, _label in field.choices if code not in (None, ""))
        if value not in (None, "", False):
            data[name] = value
    return data


def test_every_print_is_linked_made_and_recorded(client):
    people, records, special = world()
    client.force_login(people["lead"])
    prints = [(name, path, view.callback.view_class) for name, path, view in routes() if name]
    prints = [(name, path, kind) for name, path, kind in prints if isinstance(kind, type) and issubclass(kind, PrintView)]
    assert len(prints) >= 8
    for name, path, view in prints:
        url = address(name, path, records, special)
        page = client.get(url)
        linked = name in REACHED_BY_A_FORM or f'"{url}' in client.get(page.context["cancel_url"]).content.decode()
        assert linked, f"{name}: no link from the page of its record"
        before = IssuedPrint.objects.count()
        answer = client.post(url, filled(page.context["form"]))
        assert answer.headers["Content-Type"] == "application/pdf", name
        assert "".join(page_texts(answer.content)).strip(), name
        assert IssuedPrint.objects.count() - before == view.recorded, name
        if view.recorded:
            issued = IssuedPrint.objects.first()
            assert any(getattr(issued, names).exists() for names in LINKS), f"{name}: the record of the print names nothing"
