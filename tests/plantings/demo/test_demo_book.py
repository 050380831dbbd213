"""The demo as a folder: read back by other programs, by what its README says, and into an empty installation."""

import hashlib
import json
from types import SimpleNamespace

import geopandas
import pandas
import pytest
from django.db import connection, transaction
from django.utils import timezone

from plantings.calc.survival.census_choice import AGE, CensusChoice
from plantings.exports.book import book_export
from plantings.exports.book_places import places_write
from plantings.models import Site
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.survival.survival import survival_rows
from registry.access import roles
from registry.models import AuditHead, Person
from registry.models.append_only import protect_again, unprotect_statements
from registry.selectors.audit.book_tables import book_tables
from registry.selectors.audit.record_hashes import append_only_models
from registry.selectors.audit.verify import verify_book
from registry.services.audit.book_load import book_load

HASHED = "records kept"  # as the README of the folder names it


@pytest.fixture(scope="module")
def folder(loaded, django_db_blocker, tmp_path_factory):
    path = tmp_path_factory.mktemp("export") / "records"
    with django_db_blocker.unblock():
        book_export(path)
    return path


@pytest.fixture(scope="module")
def described(folder):
    return {one["name"]: one for one in json.loads((folder / "datapackage.json").read_text())["resources"] if "schema" in one}


@pytest.fixture(scope="module")
def tables(folder, described):
    """Each table as text, read by another program."""
    return {
        name: pandas.read_csv(folder / one["path"], dtype=str, keep_default_na=False, encoding="utf-8") for name, one in described.items()
    }


def numbers(table, *names):
    return table.assign(**{name: pandas.to_numeric(table[name]) for name in names})


def empty_tables():
    """Leave the database without records, as after the migrations, inside the transaction of a test."""
    protected = [model._meta.db_table for model in append_only_models()]
    with connection.cursor() as cursor:
        for statement in (sql for table in protected for sql in unprotect_statements(table, connection.vendor)):
            cursor.execute(statement)
        for table in reversed(book_tables()):
            cursor.execute(f"DELETE FROM {connection.ops.quote_name(table.model._meta.db_table)}")
        connection.check_constraints()
        editor = SimpleNamespace(connection=connection, execute=lambda sql, params=None: cursor.execute(sql))
        protect_again(*protected)[0](None, editor)


def content(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def survival():
    lead = Person(role=roles.LEAD)
    return [survival_rows(lead, ("site", "lineage"), "mother", CensusChoice(AGE, age)).rows for age in (1, 2, 3)]


def test_the_demo_comes_back_the_same(book, folder, settings, tmp_path):
    before, written = survival(), content(folder)
    settings.MEDIA_ROOT = str(tmp_path / "files")
    with transaction.atomic():
        connection.check_constraints()
        empty_tables()
        assert not Site.objects.exists()
        book_load(folder)
        assert survival() == before and any(before)
        assert recount_differences()[1] == []
        assert [fault for check in verify_book() for fault in check.faults] == []
        book_export(tmp_path / "again")
        transaction.set_rollback(True)
    assert content(tmp_path / "again") == written


def test_every_cell_is_what_the_description_says(described, tables):
    read = {"integer": pandas.to_numeric, "number": pandas.to_numeric, "date": pandas.to_datetime, "datetime": pandas.to_datetime}
    for name, one in described.items():
        table = tables[name]
        assert list(table) == [field["name"] for field in one["schema"]["fields"]] and len(table) == one["rows"]
        assert not table.duplicated(one["schema"]["primaryKey"]).any()
        for field in one["schema"]["fields"]:
            cells = table[field["name"]]
            given = cells[cells != ""]
            if field["type"] in read:
                assert read[field["type"]](given).notna().all()
            if field["type"] in {"array", "object"}:
                assert {type(json.loads(cell)) for cell in given} <= {list if field["type"] == "array" else dict}, (name, field["name"])
            if "categories" in field:
                assert set(given) <= {str(code["value"]) for code in field["categories"]}, (name, field["name"])
            if field.get("constraints", {}).get("required"):
                assert len(given) == len(cells), (name, field["name"])
        for key in one["schema"].get("foreignKeys", ()):
            [column], pointed = key["fields"], tables[key["reference"]["resource"]]
            assert set(table[column]) - {""} <= set(pointed["id"]), (name, column)


def test_the_places_open_in_a_map_program(book, folder):
    sites = geopandas.read_file(folder / "places.gpkg", layer="site").set_index("code")
    stored = {code: (x, y) for code, x, y in Site.objects.exclude(longitude=None).values_list("code", "longitude", "latitude")}
    assert {code: (point.x, point.y) for code, point in sites.geometry.items()} == stored and sites.crs == "EPSG:4326"


def test_a_boundary_is_a_layer_of_its_own(book, tmp_path):
    square = {"type": "Polygon", "coordinates": [[[-73, 44], [-73, 44.01], [-72.99, 44.01], [-72.99, 44], [-73, 44]]]}
    site = Site.objects.first()
    Site.objects.filter(pk=site.pk).update(boundary=square)
    assert places_write(tmp_path / "places.gpkg")
    [boundary] = geopandas.read_file(tmp_path / "places.gpkg", layer="site_boundary").to_dict("records")
    assert (boundary["record_id"], boundary["code"], boundary["geometry"].bounds) == (site.pk, site.code, (-73, 44, -72.99, 44.01))


def test_survival_counted_by_the_readme_is_that_of_the_site(book, tables):
    # every step is one that the README names, with the tables alone
    counts = ["planted", "alive", "removed_excluded", "not_visited", "not_located", "unclear"]
    tally = numbers(tables["survival_tally"], *counts)
    entry, lot = tables["planting_entry"].set_index("id"), tables["lot"].set_index("id")
    site_of = tables["planting"].set_index("id")["site_id"].map(tables["site"].set_index("id")["code"])
    rounds, today = tables["census_round"].set_index("id"), timezone.localdate().isoformat()
    progress = numbers(tables["round_progress"], "countable", "assessed", "unsettled", "ended")
    settled = (progress["round_id"].map(rounds["closes_on"]) < today) | (progress["unsettled"] == 0)
    visited = 100 * (progress["assessed"] - progress["ended"]) >= 80 * (progress["countable"] - progress["ended"])
    complete = set(progress[settled & visited & (progress["sown"] == "false")]["round_id"])
    chosen = tally[
        tally["round_id"].isin(complete)
        & (tally["round_id"].map(rounds["growing_seasons"]) == "2")
        & (tally["entry_id"].map(entry["role"]) == "test")
        & (tally["entry_id"].map(entry["lot_id"]).map(lot["kind"]) == "stock")
    ]
    summed = chosen.groupby(chosen["entry_id"].map(entry["planting_id"]).map(site_of))[counts].sum()
    assessed = summed["planted"] - summed["removed_excluded"] - summed["not_visited"] - summed["not_located"] - summed["unclear"]
    found = {site: (summed["alive"][site], assessed[site]) for site in summed.index}
    table = survival_rows(Person(role=roles.LEAD), ("site",), "lot", CensusChoice(AGE, 2))
    shown = {row.keys[0]: (row.counts.alive, row.n) for row in table.rows if row.role == "test" and not row.sown}
    assert found == shown and len(found) > 5


def test_the_audit_trail_is_checked_by_the_readme_alone(book, tables):
    def sha256(before, said):
        text = json.dumps(said, sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(f"{before}\n{text}".encode("ascii")).hexdigest()

    before, hashes = "", {}
    for row in tables["audit_entry"].to_dict("records"):
        changes = json.loads(row["changes"])
        said = {name: row[name] for name in ("reason", "record_label", "record_type", "verb")}
        said |= {
            "actor": int(row["actor_id"]),
            "record_id": int(row["record_id"]),
            "at": row["at"].replace("Z", "+00:00"),
            "changes": changes,
        }
        assert row["previous_sha256"] == before and row["sha256"] == sha256(before, said)
        before = row["sha256"]
        hashes |= changes.get(HASHED, [None, {}])[1]
    assert before == AuditHead.objects.get().sha256
    entries = tables["ledger_entry"].to_dict("records")
    whole = {"id", "lot_id", "quantity", "counterpart_id", "shipment_line_id", "reverses_id", "entered_by_id"}
    for row in entries:
        said = {name: int(cell) if name in whole else float(cell) if name == "mass_g" else cell for name, cell in row.items() if cell}
        said["entered_at"] = said["entered_at"].replace("Z", "+00:00")
        assert hashes[f"ledgerentry {row['id']}"] == sha256("", said)
    assert len(entries) > 50
