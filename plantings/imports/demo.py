"""Loading the demo: its sheets, one after the other, as a user's own files would be loaded."""

import re

from django.conf import settings
from django.db import transaction

from plantings.imports.kinds import KINDS
from plantings.services.demo import demo_lead_make
from registry.access import roles
from registry.imports.sheets.table import read_table

__all__ = ["DEMO_FOLDER", "demo_load", "demo_sheets", "sheet_plan"]

DEMO_FOLDER = settings.BASE_DIR / "fixtures" / "demo"
_NAME = re.compile(r"\d\d_([a-z_]+?)(_late)?\.csv")
_LATE_REASON = "paper sheets that came in later"


def demo_sheets(folder=DEMO_FOLDER):
    """[(path, kind, came in later)] in the order they are loaded; the number in front of a name is its turn."""
    named = [(path, _NAME.fullmatch(path.name)) for path in sorted(folder.glob("*.csv"))]
    return [(path, match[1], bool(match[2])) for path, match in named]


def sheet_plan(path, kind):
    """(sheet, plan) of one file against the book as it is."""
    sheet = KINDS[kind]()
    table = read_table(path.read_bytes(), path.name)
    return sheet, sheet.plan(table.dataset(), first_row=table.first_row)


@transaction.atomic
def demo_load(folder=DEMO_FOLDER):
    """Load every sheet of the demo into an empty book, all or nothing.

    Returns {file name: plan}. Raises SheetRefused when a sheet does not fit, and nothing is stored.
    """
    sheets = demo_sheets(folder)
    lead = demo_lead_make(**_lead_row(sheets))
    plans = {}
    for path, kind, late in sheets:
        sheet, plan = sheet_plan(path, kind)
        sheet.store(plan, lead, _LATE_REASON if late else "")
        plans[path.name] = plan
    return plans


def _lead_row(sheets):
    # the first account loads the others, so its own row is read before its turn
    path = next(path for path, kind, _late in sheets if kind == "person")
    _sheet, plan = sheet_plan(path, "person")
    return next(item.values for item in plan.items if item.values["role"] == roles.LEAD)
