"""Every kind of sheet is offered, and every field of its record is a column or is known to be none."""

import pytest

from plantings.imports.kinds import KINDS, SHEETS
from registry.imports.people.programme import ProgrammeSettingSheet
from registry.imports.sheets.mapping import bind
from registry.imports.sheets.sheet import Sheet
from registry.models import ProgrammeSetting
from tests.registry.sheets.sheet_help import load

# Who entered a record, when, and what it corrects is noted by the service that stores it.
OF_THE_ENTRY = {"entered_at", "entered_by", "received_at", "uuid", "supersedes", "reverses"}
# Fields that are no column: worked out, written as another column, or changed on the page only.
NO_COLUMN = {
    "pedigree_tree": {"backcrosses", "intercrosses", "generation_other"},  # the column Generation
    "lot": {"backcrosses", "intercrosses", "generation_other", "balance", "closed_on"},
    "rating": {"reason"},
    "decision": {"warnings", "needs_second"},  # an old decision waits for nobody
    "ledger": {"shipment_line"},
    "lot_split": {"kind", "counterpart", "mass_g", "reference", "shipment_line"},  # a split is always of one kind
    "seed_test": {"entry", "reason"},
    "storage": {"entry"},
    "person": {"password", "last_login", "date_joined", "is_staff", "is_superuser"},
    "authorization": {"drawn", "holder_account", "holder_address", "issuer_contact", "second_account"},
    "authorization_version": {"number"},  # counted up as they are entered
    "duty": {"closed_on", "closed_reason", "requirement"},
    "duty_done": {"file", "reason"},
    # found from the point and the boundary
    "site": {"area_m2", "jurisdiction", "jurisdiction_basis", "county_basis", "near", "areas"},
    "tree": {"fate", "occupant", "walk_number"},
    "census": {"reason", "arrived_as", "own_values"},  # the column Accepted; a column for each own measurement there is
    "round": {"protocol"},  # named by the column Protocol version
    "rule_verification": {"reason"},
    "leftover": {"taken_back_by", "taken_back_at", "taken_back_reason"},
    "plot_count": {"reason", "arrived_as"},
    "self_sown": {"reason"},
    "second_measurement": {"reason", "number"},  # counted up as they are corrected
}


def kinds(parent=Sheet):
    """Every sheet class that declares a kind; a class without one is a base of others."""
    for sheet in parent.__subclasses__():
        if sheet.__module__.startswith(("registry.", "plantings.")):
            yield from [sheet] if sheet.kind else []
            yield from kinds(sheet)


def test_every_kind_of_sheet_is_offered():
    assert [sheet.__name__ for sheet in kinds() if sheet.kind not in KINDS] == []


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.kind)
def test_every_field_of_a_record_is_a_column_or_known_to_be_none(sheet):
    columns = {field.attribute.split("__")[0] for field in sheet.sheet_fields().values()}
    fields = {field.name for field in sheet.model._meta.concrete_fields if not field.primary_key}
    assert fields - columns - OF_THE_ENTRY == NO_COLUMN.get(sheet.kind, set())


EARLIER = [(sheet, name, header) for sheet in SHEETS for name, field in sheet.sheet_fields().items() for header in field.was]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.kind)
def test_no_two_columns_of_a_sheet_share_a_header_of_any_time(sheet):
    headers = [header.casefold() for field in sheet.sheet_fields().values() for header in (field.column_name, *field.was)]
    assert [header for header in headers if headers.count(header) > 1] == []


@pytest.mark.parametrize(("sheet", "name", "header"), EARLIER, ids=[f"{sheet.kind}-{name}" for sheet, name, _ in EARLIER])
def test_an_earlier_header_of_a_column_is_still_read(sheet, name, header):
    fields = sheet.sheet_fields()
    assert bind(fields, ["Something else", header], {})[name].column == 1
    both = bind(fields, [header, fields[name].column_name], {})
    assert (both[name].column, len(both)) == (1, 1)  # the header of today comes first


@pytest.mark.django_db
def test_a_sheet_with_an_earlier_header_is_stored():
    text = "Setting,Value,Set by,Set on,What it rests on\nreceipt_days,14,A. Lead,2020-01-01,board meeting\n"
    load(ProgrammeSettingSheet, text)
    assert ProgrammeSetting.objects.get(key="receipt_days").basis == "board meeting"
