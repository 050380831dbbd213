"""Uses two measurements that the project does not have. `test_new_measurement.py` adds them to a copy and runs this file there."""

import importlib
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction
from django.urls import reverse

from plantings.imports.census import CensusSheet
from plantings.models import Observation
from plantings.services.census.observations import CensusRow, observations_record
from registry.imports.sheets.formats import export_bytes
from registry.models.append_only import unprotected
from tests import factories
from tests.plantings.census.test_census_form import send
from tests.plantings.census.test_census_grid import filled, grid_url
from tests.prints.reading import page_texts
from tests.registry.sheets.sheet_help import load, refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def walk(client):
    """(round, its trees); a coordinator is signed in."""
    planting = factories.planting(code="PL-1")
    client.force_login(factories.person("coordinator"))
    return factories.census_round(planting, 2), factories.trees(planting, count=3)


def stored():
    return list(Observation.objects.order_by("pk").values_list("crown_m", "leaf_scorch"))


def test_the_migration_is_complete_and_the_table_protected():
    from django.db import connection

    call_command("makemigrations", check=True, dry_run=True, verbosity=0)
    assert unprotected(connection, ["plantings_observation"]) == []


def test_the_form_takes_it_and_checks_it(client, walk):
    census_round, trees = walk
    page = client.get(reverse("census_tree", args=[census_round.pk, trees[0].pk])).content.decode()
    assert "Crown width" in page and "Some: Up to half." in page
    for values, field, words in (
        ({"crown_m": "31"}, "crown_m", "Crown width: 31 m is outside 0 to 30 m."),
        ({"crown_m": "x"}, "crown_m", "“x” is not a number. Write m with digits and a point, such as 3.5."),
        ({"status": "NF", "crown_m": "3"}, "crown_m", "cannot have a measurement"),
        ({"leaf_scorch": "all"}, "leaf_scorch", "all"),
    ):
        errors = send(client, census_round, trees[0], **values).context["form"].errors
        assert list(errors) == [field] and words in errors[field][0]
    send(client, census_round, trees[0], crown_m="3.5", leaf_scorch="some")
    assert stored() == [(3.5, "some")]


def test_the_grid_takes_it_by_its_first_letters(client, walk):
    census_round, trees = walk
    heads = [label for label, _unit, _language in client.get(grid_url(census_round)).context["columns"]]
    assert heads[-3:] == ["Crown width", "Leaf scorch", "Note"]
    rows = {trees[0]: {"status": "A", "crown_m": "2.5", "leaf_scorch": "m"}, trees[1]: {"status": "A", "leaf_scorch": "all"}}
    wrong = client.post(grid_url(census_round), filled(client, census_round, rows))
    [(_box, tag, field, message)] = wrong.context["grid"].errors
    assert (tag, field) == (trees[1].tag, "Leaf scorch") and "Write one of none, some, most" in message
    rows[trees[1]]["leaf_scorch"] = ""
    page = client.post(grid_url(census_round), filled(client, census_round, rows), follow=True)
    assert stored() == [(2.5, "most"), (None, "")]
    assert page.context["rows"][0]["records"][0][0][-3:] == ["2.5", "most", ""]


def test_a_sheet_brings_it_in_and_takes_it_out(walk):
    census_round, trees = walk
    head = "Planting,Season,Tag,Status,Observed on,Crown width (m),Leaf scorch\n"
    row = f"PL-1,{census_round.label},{trees[0].tag},A,{census_round.opens_on},"
    assert "is outside 0 to 30" in refused(CensusSheet, f"{head}{row}31,none\n")[0]
    assert "is not in the list; write one of none, some, most" in refused(CensusSheet, f"{head}{row}3,all\n")[0]
    load(CensusSheet, f"{head}{row}3.25,most\n")
    assert stored() == [(3.25, "most")]
    written = export_bytes(CensusSheet, CensusSheet().get_queryset(), "csv").decode("utf-8-sig").splitlines()
    assert "Crown width (m),Leaf scorch" in written[0] and ",3.25,most," in written[1]
    assert {"Crown width (m)", "Leaf scorch"} <= set(CensusSheet.template_rows()[0])


def test_a_correction_takes_it_over_unless_the_tree_was_not_seen(walk):
    census_round, trees = walk
    factories.observe(census_round, {trees[0]: "A", trees[1]: "A"}, crown_m=2.0, leaf_scorch="some")
    head = "Planting,Season,Tag,Status,Observed on\n"
    rows = [
        f"PL-1,{census_round.label},{tree.tag},{status},{census_round.opens_on}\n"
        for tree, status in zip(trees, ("AR", "NF"), strict=False)
    ]
    load(CensusSheet, head + "".join(rows), reason="keyed again")
    values = dict(Observation.objects.current().values_list("tree", "crown_m"))
    assert values == {trees[0].pk: 2.0, trees[1].pk: None}


def test_the_field_form_has_a_box_and_its_codes(client, walk):
    census_round, _trees = walk
    answer = client.post(reverse("field_form", args=[census_round.pk]), {"page": "letter", "trees": "all", "last": "on"})
    text = " ".join(" ".join(page_texts(answer.content)).split())
    assert "Leaf scorch: none; some; most." in text
    walk_heads = text[text.index("In walk order") :]
    assert "Crown" in walk_heads and "scorch" in walk_heads


def test_the_pages_of_the_tree_and_the_round_show_it(client, walk):
    census_round, trees = walk
    factories.observe(census_round, {trees[0]: "A"}, crown_m=3.5, leaf_scorch="some")
    assert "crown width 3.5 m, leaf scorch some" in client.get(reverse("tree_detail", args=[trees[0].pk])).content.decode()
    page = client.get(reverse("round_records", args=[census_round.pk])).content.decode()
    assert "Crown width (m)" in page and "Leaf scorch" in page and "3.5" in page


def test_help_explains_it(client, walk):
    page = client.get(reverse("help")).content.decode()
    assert "0 to 30 m" in page and "Leaf scorch: the classes" in page and "Up to half." in page


def test_the_database_refuses_what_is_out_of_range(walk):
    census_round, trees = walk
    row = CensusRow(census_round.pk, trees[0].pk, status="A", observed_on=census_round.opens_on, crown_m=31, uuid=uuid4())
    checks = importlib.import_module("plantings.services.census.checks")
    assert [finding.field for finding in checks.row_findings(row, census_round, None)] == ["crown_m"]
    with pytest.MonkeyPatch.context() as patch, pytest.raises(IntegrityError), transaction.atomic():
        patch.setattr(checks, "check_row", lambda *given: ())
        observations_record(actor=factories.person(), rows=[row])
