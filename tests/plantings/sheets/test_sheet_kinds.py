"""Every kind of sheet is offered, and every field of its record is a column or is known to be none."""

import pytest

from plantings.imports.kinds import KINDS, SHEETS
from registry.imports.sheets.sheet import Sheet

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
    "site": {"area_m2", "boundary", "jurisdiction", "jurisdiction_basis", "county_basis", "near", "areas"},
    "tree": {"fate", "occupant", "walk_number"},
    "census": {"reason"},
    "plot_count": {"reason"},
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
