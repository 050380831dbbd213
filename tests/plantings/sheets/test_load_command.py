"""The command that loads a sheet: who may, with what mapping, and why rows change; never a traceback."""

import io
import json

import pytest
from django.core.management import CommandError, call_command

from registry.models import AuditEntry, Lot, Partner, Taxon
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def load(tmp_path):
    def run(kind, text, columns=None, **options):
        path = tmp_path / f"{kind}.csv"
        path.write_text(text)
        if columns is not None:
            mapping = tmp_path / "mapping.json"
            mapping.write_text(json.dumps(columns))
            options["columns"] = mapping
        out, err = io.StringIO(), io.StringIO()
        call_command("load", kind, path, stdout=out, stderr=err, **options)
        return out.getvalue(), err.getvalue()

    return run


@pytest.mark.parametrize("name", ["x" * 3_000, "x" * 3_000 + "*"])
def test_a_file_name_longer_than_any_gets_a_sentence(name):
    factories.person("lead")
    with pytest.raises(CommandError, match="cannot be read: File name too long|No file has a name like"):
        call_command("load", "taxon", name)


@pytest.mark.parametrize("role", ["volunteer", "breeder", "landowner"])
def test_a_person_loads_only_what_the_role_may_edit(load, role):
    lead = factories.person("lead")
    person = factories.person(role)
    text = "Lot,Kind,Taxon\nL-1,seed,Juglans cinerea\n"
    with pytest.raises(CommandError, match=f"{person.username} .* may not load lots. Nothing was stored."):
        load("lot", text, person=person.username)
    assert not Lot.objects.exists()
    with pytest.raises(SystemExit):  # the lead may; this row lacks what a lot needs
        load("lot", text, person=lead.username)


def test_records_do_not_change_without_a_reason(load):
    factories.person("lead")
    factories.partner(code="PT-1", name="Old Mill")
    text = "Partner,Name\nPT-1,New Mill\n"
    with pytest.raises(CommandError, match="1 row on file changes, and no reason was given. Nothing was stored.*--reason"):
        load("partner", text)
    with pytest.raises(CommandError, match="no reason was given"):
        load("partner", text, reason="  ")
    assert Partner.objects.get(code="PT-1").name == "Old Mill"
    assert "would store 1 changed" in load("partner", text, dry_run=True)[0]
    load("partner", text, reason="renamed in 2024")
    assert Partner.objects.get(code="PT-1").name == "New Mill"
    assert AuditEntry.objects.latest("pk").reason == "renamed in 2024"


def test_columns_that_are_not_used_are_named(load):
    factories.person("lead")
    factories.partner(code="PT-1")
    out, _err = load("site", "Site,Name,Partner,Long.,Slope,What to correct\nST-1,Hollow,PT-1,-73.2,steep,\n")
    assert out.startswith("Columns of the file that are not used: “Long.”, “Slope”. Map them if you need them.\n")
    assert "stored 1 new" in out


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        ({"header_row": "1"}, "header_row"),
        ({"header_row": 1.5}, "header_row"),
        ({"delimiter": "pipe"}, "delimiter"),
        ({"delimiter": "::"}, "delimiter"),
        ({"decimal": ["x"]}, "decimal"),
        ({"dates": "x"}, "dates"),
        ({"columns": ["name"]}, '"columns" of the mapping is not an object'),
        ({"columns": "name"}, '"columns" of the mapping is not an object'),
        ({"columns": {"name": {"from": "a", "values": ["a"]}}}, '"values"'),
        ({"columns": {"name": {"from": "a", "values": None}}}, '"values"'),
        ({"columns": {"name": {"from": "a", "values": {"b": ["x"]}}}}, '"values"'),
        ({"columns": {"name": {"from": "a", "values": {"b": None}}}}, '"values"'),
        ({"columns": {"name": {"from": "a", "after_last": 5}}}, '"after_last": 5. Write the character'),
        ({"columns": {"name": {"from": "a", "before_last": None}}}, '"before_last"'),
        ({"columns": {"name": {"from": ["a"]}}}, '"from"'),
        ({"columns": {"name": {"constant": {"x": 1}}}}, '"constant"'),
        ({"columns": {"name": 5}}, "is not understood"),
        ({"columns": {"name": "b"}}, "takes 'name' from the column 'b', but the file has: a"),
        (["name"], "must hold one JSON object"),
    ],
)
def test_an_impossible_mapping_is_refused_with_advice(load, columns, says):
    factories.person("lead")
    with pytest.raises(CommandError, match=says):
        load("taxon", "a\nJuglans a\n", columns=columns)
    assert not Taxon.objects.exists()


def test_a_rule_may_give_numbers_and_leaves_dates_alone(load):
    factories.person("lead")
    columns = {"columns": {"name": "a", "role": {"constant": "other"}, "common_name": {"from": "b", "values": {"x": 7, "": "none"}}}}
    load("taxon", "a,b\nJuglans a,x\nJuglans b,\nJuglans c,y\n", columns=columns)
    assert list(Taxon.objects.order_by("name").values_list("common_name", flat=True)) == ["7", "none", "y"]
