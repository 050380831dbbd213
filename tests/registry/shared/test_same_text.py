"""A text of any length can be looked for: SQLite raised for a pattern of more than 50,000 octets (sqlite.org/limits.html)."""

import pytest
from django.db.models import Q
from django.urls import reverse

from registry.models import Lot
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("text", ["x" * 70_000, "\U0001f332" * 20_000, "%" * 30_000])
def test_a_text_longer_than_a_pattern_equals_none(text):
    lot = factories.stock_lot(code="L-1")
    assert not Lot.objects.filter(code__iexact=text).exists()
    assert not Lot.objects.filter(note__iexact=text).exists()
    assert Lot.objects.filter(Q(code__iexact=text) | Q(code__iexact="l-1")).get() == lot


def test_a_form_says_that_no_lot_has_such_a_code(client):
    client.force_login(factories.person("lead"))
    page = client.post(reverse("incident_add"), {"title": "Found", "what": "A tree", "lots": "x" * 70_000})
    assert page.status_code == 200 and "No lot on file has this code" in page.content.decode()
