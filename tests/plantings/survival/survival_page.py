"""The survival page as a test asks for it, and two sites to show on it."""

import csv
import io
import re

from django.urls import reverse

from tests import factories
from tests.plantings.survival.survival_examples import counted


def page(client, **query):
    return client.get(reverse("survival"), query)


def words(response):
    """The text of a page without its tags, spaces folded."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def falls():
    """81 of 263 under test and 15 of 148 checks at one site, 7 of 9 at another."""
    site = factories.site(code="FALLS", name="Falls Road", jurisdiction="US-VT")
    planting, lot = factories.planting(site=site, code="F-1"), factories.stock_lot(code="LOT-A", declared_source="Heron")
    counted(planting, lot, 263, 81)
    counted(planting, factories.stock_lot(code="WT-1", generation_other="native"), 148, 15, role="check")
    pond = factories.site(code="POND", jurisdiction="US-NY")
    counted(factories.planting(site=pond), factories.stock_lot(code="LOT-B", declared_source="Ibis"), 9, 7)
    return planting


def csv_rows(response):
    return list(csv.DictReader(io.StringIO(response.content.decode("utf-8-sig"))))
