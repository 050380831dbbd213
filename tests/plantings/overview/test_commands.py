"""`load` and `recount` as somebody at a terminal uses them."""

import json

import pytest
from django.core.management import CommandError, call_command

from plantings.models import SurvivalTally, Tree
from registry.models import AuditEntry, Load, Lot, Taxon
from tests import factories

pytestmark = pytest.mark.django_db
TAXA = "Binomial,Role here\nJuglans a,native\nJuglans b,{role}\n"


@pytest.fixture
def sheet(tmp_path):
    def write(text, name="taxa.csv"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return str(path)

    return write


def test_load_stores_and_says_what(sheet, capsys):
    lead = factories.person("lead")
    call_command("load", "taxon", sheet(TAXA.format(role="donor")))
    assert capsys.readouterr().out == f"taxa.csv: stored 2 new.\nThis is load {Load.objects.get().pk}.\n"
    assert AuditEntry.objects.filter(verb="taxon.added", actor=lead).count() == 2
    call_command("load", "taxon", sheet(TAXA.format(role="donor")))
    assert capsys.readouterr().out == "taxa.csv: stored 2 unchanged.\n"


def test_load_dry_run_stores_nothing(sheet, capsys):
    factories.person("lead")
    call_command("load", "taxon", sheet(TAXA.format(role="donor")), "--dry-run")
    assert capsys.readouterr().out == "taxa.csv: would store 2 new.\n"
    assert not Taxon.objects.exists()


def test_load_names_wrong_rows_and_exits_with_1(sheet, capsys):
    factories.person("lead")
    with pytest.raises(SystemExit) as stopped:
        call_command("load", "taxon", sheet(TAXA.format(role="no such role")))
    assert stopped.value.code == 1
    output = capsys.readouterr()
    assert output.out == ""
    assert "row 3, column 'Role here': 'no such role' is not in the list" in output.err
    assert not Taxon.objects.exists()


def test_load_takes_a_mapping_file_and_an_actor(sheet, capsys):
    factories.person("lead")
    manager = factories.person("manager", username="m")
    mapping = sheet(json.dumps({"columns": {"name": "Art", "role": {"constant": "other"}}}), "mapping.json")
    call_command("load", "taxon", sheet("Art\nJuglans c\n"), "--columns", mapping, "--as", "m")
    assert AuditEntry.objects.get(verb="taxon.added").actor == manager


@pytest.mark.parametrize(
    ("mapping", "says"),
    [("{", "is not JSON"), ("[]", "must hold one JSON object"), ('{"columns": {"name": "Nope"}}', "from the column 'Nope'")],
)
def test_load_says_what_is_wrong_with_a_mapping(sheet, mapping, says):
    factories.person("lead")
    with pytest.raises(CommandError, match=says):
        call_command("load", "taxon", sheet(TAXA.format(role="donor")), "--columns", sheet(mapping, "m.json"))


def test_load_says_what_is_wrong_with_a_file_or_a_person(sheet):
    with pytest.raises(CommandError, match="There is no lead yet"):
        call_command("load", "taxon", sheet(TAXA))
    factories.person("lead")
    with pytest.raises(CommandError, match="no active account 'ghost'"):
        call_command("load", "taxon", sheet(TAXA), "--as", "ghost")
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        call_command("load", "taxon", "/no/such/file.csv")
    with pytest.raises(CommandError, match="invalid choice: 'tax'"):
        call_command("load", "tax", sheet(TAXA))


def test_two_hundred_megabytes_of_nothing_get_one_sentence(tmp_path):
    factories.person("lead")
    path = tmp_path / "nothing.csv"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    with pytest.raises(CommandError, match="nothing.csv has 200 MB; the limit is 50 MB"):
        call_command("load", "taxon", str(path))


def test_recount_finds_every_tampering_and_nothing_else(capsys):
    actor = factories.person("lead")
    planting = factories.planting()
    lot = factories.stock_lot(actor=actor, plants=5)
    trees = factories.trees(planting, lot, 3, actor=actor)
    factories.observe(factories.census_round(planting), {trees[0]: "A"}, actor=actor)
    call_command("recount")
    output = capsys.readouterr()
    assert (output.out, output.err) == (
        "",
        "1 lot, 0 shipment lines, 1 planting, 1 tally, 3 trees, 0 questions of identity, 1 origin checked: 0 differences.\n",
    )
    Lot.objects.filter(pk=lot.pk).update(balance=7)
    with pytest.raises(SystemExit):
        call_command("recount")
    assert capsys.readouterr().err.endswith(" checked: 1 difference.\n")
    SurvivalTally.objects.update(alive=0, dead=1)
    Tree.objects.filter(pk=trees[0].pk).update(fate="dead")
    with pytest.raises(SystemExit) as stopped:
        call_command("recount", "--format", "json")
    assert stopped.value.code == 1
    rows = json.loads(capsys.readouterr().out)
    assert [row["record"].split(",")[0] for row in rows] == [
        f"lot {lot.code}",
        f"planting {planting.code}",
        f"tree {planting.code}/{trees[0].tag}",
    ]
    assert (rows[0]["stored"], rows[0]["recounted"]) == (7, 5)
