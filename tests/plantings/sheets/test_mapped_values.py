"""A mapping may give any value that JSON can hold as a constant or in a rule: each is read or refused in words."""

import pytest
from django.urls import reverse

from plantings.imports.kinds import KINDS
from plantings.imports.loading import plan_file, plan_trial
from registry.imports.sheets.reading_options import SheetError
from registry.services.sheets.uploads import upload_keep, upload_map
from tests import factories

pytestmark = pytest.mark.django_db

NUMBERS = (-1, 1e300, 10**400, float("nan"), True)
TEXTS = ("\ud800", "a\0b", "9" * 5000 + "-01-01")


def faults(kind, values, actor):
    """{field: fault} of a kind of sheet where a constant or a rule gives a value and the program raises something else than a sentence."""
    headers, example = KINDS[kind].template_rows()
    content = "\n".join(",".join(f'"{cell}"' for cell in row) for row in (headers, example)).encode()
    by_header = {name: field.column_name for name, field in KINDS[kind].sheet_fields().items()}
    found = {}
    for name, header in by_header.items():
        for value in values:
            for given in ({"constant": value}, {"from": header, "values": {"*": value}})[: 2 if value == values[0] else 1]:
                try:
                    sheet, _table, plan = plan_file(kind, content, "sheet.csv", {"columns": by_header | {name: given}})
                    plan_trial(actor=actor, sheet=sheet, plan=plan)
                except SheetError:
                    pass
                except Exception as fault:
                    found[name, repr(value)[:30]] = repr(fault)[:200]
    return found


@pytest.mark.parametrize("values", [NUMBERS, TEXTS], ids=["numbers", "texts"])
def test_any_value_of_a_mapping_is_read_or_refused_in_words(values):
    actor = factories.person("lead")
    found = {kind: faults(kind, values, actor) for kind in KINDS}
    assert {kind: fault for kind, fault in found.items() if fault} == {}


@pytest.mark.parametrize("constant", [5, 1.5, True, "5"])
def test_the_pages_of_an_upload_show_a_constant_that_is_a_number(client, constant):
    lead = factories.person("lead")
    client.force_login(lead)
    upload = upload_keep(actor=lead, kind="lot", content=b"Lot,Year\nA,2019\n", filename="lots.csv")
    upload_map(
        actor=lead,
        upload=upload,
        spec={"columns": {"code": "Lot", "year": {"constant": constant}, "note": {"from": "Year", "values": {"2019": constant}}}},
    )
    for route in ("sheet_columns", "sheet_preview"):
        page = client.get(reverse(route, args=[upload.key]))
        assert page.status_code == 200
