"""Downloads of the survival page: they hold what is shown. Common practice, no source, unless named."""

import io
import re

import openpyxl
import pytest

from tests import factories
from tests.plantings.survival.survival_examples import counted
from tests.plantings.survival.survival_page import csv_rows, falls, page, words

pytestmark = pytest.mark.django_db


def test_the_csv_has_the_rows_of_the_page_with_method_and_day(client, lead):
    falls()
    response = page(client, by="site-lineage", level="lot", download="csv")
    assert response["Content-Type"].startswith("text/csv")
    assert re.search(r'filename="survival-age-1-\d{4}-\d\d-\d\d\.csv"', response["Content-Disposition"])
    rows = csv_rows(response)
    assert [(row["site"], row["lineage"], row["role"]) for row in rows] == [
        ("FALLS", "LOT-A", "test"), ("FALLS", "WT-1", "native check"), ("POND", "LOT-B", "test"),
    ]  # fmt: skip
    first = rows[0]
    assert (first["site_name"], first["planted"], first["assessed"], first["alive"], first["dead"]) == (
        "Falls Road",
        "263",
        "263",
        "81",
        "182",
    )
    # Newcombe 1998, Table I, method 3
    assert (float(first["low"]), float(first["high"])) == pytest.approx((0.2553, 0.3662), abs=1e-9)
    assert (first["checks"], first["checks_alive"], first["checks_n"]) == ("WT-1", "15", "148")
    assert float(first["difference_from_checks"]) == pytest.approx(81 / 263 - 15 / 148, abs=5e-5)
    assert "95 % Wilson" in first["method"] and re.fullmatch(r"\d{4}-\d\d-\d\d", first["as_of"])
    assert "under 10 trees" in rows[2]["note"] and "no check on these sites" in rows[2]["note"]


def test_the_workbook_holds_numbers_as_numbers(client, lead):
    falls()
    response = page(client, by="lineage", level="lot", download="xlsx")
    heads, *rows = openpyxl.load_workbook(io.BytesIO(response.content)).active.iter_rows(values_only=True)
    row = dict(zip(heads, rows[0], strict=True))
    assert (row["lineage"], row["assessed"], row["alive"], row["growing_seasons"]) == ("LOT-A", 263, 81, 1)
    assert isinstance(row["survival"], float) and row["survival"] == pytest.approx(81 / 263, abs=5e-5)
    assert row["disease_pressure"] is None and row["pressure_assessed"] == 0


def test_a_label_that_looks_like_a_formula_stays_text_in_both_files(client, lead):
    # OWASP, CSV Injection
    counted(factories.planting(), factories.stock_lot(declared_source="=1+1"), 12, 6)
    query = {"by": "lineage", "level": "source"}
    assert csv_rows(page(client, download="csv", **query))[0]["lineage"] == "'=1+1"
    _heads, row = openpyxl.load_workbook(io.BytesIO(page(client, download="xlsx", **query).content)).active.iter_rows()
    assert (row[0].data_type, row[0].value) == ("s", "'=1+1")


@pytest.mark.parametrize(
    ("query", "sites"),
    [({"site": "POND"}, {"POND"}), ({"jurisdiction": "US-VT"}, {"FALLS"}), ({"role": "check"}, {"FALLS"}), ({}, {"FALLS", "POND"})],
)
def test_filters_hold_for_the_download_as_for_the_page(client, lead, query, sites):
    falls()
    assert {row["site"] for row in csv_rows(page(client, download="csv", **query))} == sites
    shown = words(page(client, view="heat", **query)).split("Heat table")[1]
    assert {site for site in ("FALLS", "POND") if site in shown} == sites


def test_an_unknown_download_is_not_found(client, lead):
    falls()
    assert page(client, download="pdf").status_code == 404


def test_many_rows_are_paged_and_downloaded_in_full(client, lead):
    planting = factories.planting()
    for number in range(65):
        counted(planting, factories.stock_lot(code=f"LOT-{number:02d}"), 12, 6)
    query = {"by": "lineage", "level": "lot"}
    first, second = page(client, **query).content.decode(), page(client, page=2, **query).content.decode()
    assert (first.count('class="rung"'), second.count('class="rung"')) == (60, 5)
    assert len(csv_rows(page(client, page=2, download="csv", **query))) == 65
