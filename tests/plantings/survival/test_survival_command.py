"""The command prints the same table as the page. Common practice, no source, unless named."""

import csv
import io
import json

import pytest
from django.core.management import CommandError, call_command

from tests import factories
from tests.plantings.survival.survival_examples import count_again, counted

pytestmark = pytest.mark.django_db


def run(*words):
    out = io.StringIO()
    call_command("survival", *words, stdout=out)
    return out.getvalue()


@pytest.fixture
def book():
    planting = factories.planting(site=factories.site(code="FALLS", name="Falls Road", jurisdiction="US-VT"))
    plot = counted(planting, factories.stock_lot(code="LOT-A", declared_source="Heron"), 263, 81)
    counted(planting, factories.stock_lot(code="WT-1"), 148, 15, role="check")
    factories.trees(factories.planting(code="WAIT"), count=2)
    return plot


def test_the_table_reads_like_the_page(book):
    lines = run("--by", "site", "lineage", "--level", "source").splitlines()
    # 81/263: Newcombe 1998, Stat. Med. 17:857-872, Table I, method 3
    assert lines[1].split()[:8] == ["FALLS", "Heron", "under", "test", "0.31", "(0.26–0.37),", "n", "263"]
    assert "Left out: WAIT (no census yet)." in lines
    assert any(line.startswith("Survival: Alive / assessed.") for line in lines)


def test_csv_and_json_hold_the_same_rows(book):
    words = ("--by", "lineage", "--level", "lot", "--format")
    from_csv = list(csv.DictReader(io.StringIO(run(*words, "csv"))))
    document = json.loads(run(*words, "json"))
    assert [(row["lineage"], row["role"], row["alive"]) for row in from_csv] == [("LOT-A", "test", "81"), ("WT-1", "native check", "15")]
    assert [(row["lineage"], row["role"], row["alive"]) for row in document["rows"]] == [
        ("LOT-A", "test", 81),
        ("WT-1", "native check", 15),
    ]
    assert (document["growing_seasons"], document["left_out"][0]["planting"]) == (1, "WAIT")
    assert document["rows"][0]["low"] == pytest.approx(0.2553)


def test_age_site_and_jurisdiction_limit_the_rows(book):
    count_again(book, 2, alive=70)
    counted(factories.planting(site=factories.site(code="POND", jurisdiction="US-NY")), factories.stock_lot(), 10, 1)
    rows = json.loads(run("--by", "site", "--at", "age-1", "--role", "test", "--format", "json"))["rows"]
    assert [(row["site"], row["alive"]) for row in rows] == [("FALLS", 81), ("POND", 1)]
    assert [row["site"] for row in json.loads(run("--by", "site", "--jurisdiction", "US-NY", "--format", "json"))["rows"]] == ["POND"]
    later = json.loads(run("--by", "site", "--site", "FALLS", "--at", "age-2", "--role", "test", "--format", "json"))["rows"]
    assert [(row["site"], row["alive"]) for row in later] == [("FALLS", 70)]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--by", "tree"), "invalid choice: 'tree' .choose from 'site', 'lineage', 'planting', 'jurisdiction'"),
        (("--level", "cloud"), "invalid choice: 'cloud'"),
        (("--format", "pdf"), "invalid choice: 'pdf'"),
        (("--at", "spring"), "“spring” is not a census. Write age-3, season-2025, visit-2 or latest."),
        (("--by", "site", "site"), "name each word once"),
        (("--site", "NOWHERE"), "There is no site 'NOWHERE'"),
        (("--jurisdiction", "US-XX"), "No site is in 'US-XX'. There are sites in: US-VT"),
        (("--at", "age-9"), "No complete census after 9 growing seasons there. Complete ones are of age: 1"),
    ],
)
def test_what_is_not_understood_is_refused_with_what_would_be(book, words, message):
    with pytest.raises(CommandError, match=message):
        run(*words)


def test_without_records_the_command_says_so():
    with pytest.raises(CommandError, match="No census is complete there yet"):
        run()
