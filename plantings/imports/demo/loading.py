"""Loading the demo: its sheets, one after the other, as a user's own files would be loaded, with documents and the gate between them."""

from django.db import transaction

from plantings.imports.demo.programme.duties import AUTUMN
from plantings.imports.demo.sheets import demo_sheets
from plantings.imports.kinds import KINDS
from plantings.services.demo import demo_answers_store, demo_dispatch, demo_documents_add, demo_lead_make, demo_reviews_add
from plantings.services.demo_second import demo_second_add
from registry.access import roles
from registry.imports.sheets.table import read_table

__all__ = ["demo_load", "sheet_plan"]

_LATE_REASON = "paper sheets that came in later"


def sheet_plan(demo_sheet):
    """(sheet, plan) of one sheet of the demo against the records as they are."""
    sheet = KINDS[demo_sheet.kind].with_own_columns()()
    table = read_table(demo_sheet.content, demo_sheet.name)
    return sheet, sheet.plan(table, first_row=table.first_row)


@transaction.atomic
def demo_load(sheets=None):
    """Make the sheets of the demo and load them where there are no records yet, all or nothing.

    Returns {name of a sheet: plan}. Raises SheetRefused when a sheet does not fit, and nothing is stored.
    """
    sheets = sheets or demo_sheets()
    lead = demo_lead_make(**_lead_row(sheets))
    plans = {}
    papers_filed = False
    for demo_sheet in sheets:
        if demo_sheet.is_late and not papers_filed:  # what came in late is about what the gate has let go by then
            _papers_file(lead)
            papers_filed = True
        sheet, plan = sheet_plan(demo_sheet)
        sheet.store(plan, lead, _LATE_REASON if demo_sheet.is_late else "")
        plans[demo_sheet.name] = plan
    demo_reviews_add(lead)
    demo_second_add(lead)
    demo_answers_store(lead)
    return plans


def _papers_file(lead):
    demo_documents_add(lead)
    demo_dispatch(lead, AUTUMN)


def _lead_row(sheets):
    # the first account loads the others, so its own row is read before its turn
    _sheet, plan = sheet_plan(next(sheet for sheet in sheets if sheet.kind == "person"))
    return next(item.values for item in plan.items if item.values["role"] == roles.LEAD)
