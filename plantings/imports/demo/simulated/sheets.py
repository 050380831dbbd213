"""The sheets of a simulated programme as files, and loading them, one after the other, as a user's own files would be loaded."""

from collections.abc import Iterator

from plantings.imports.demo.sheets import DemoSheet, sheet_csv
from plantings.imports.demo.simulated.rows import LEAD, simulated_rows
from plantings.imports.demo.simulated.truth import Truth
from plantings.imports.kinds import KINDS
from plantings.imports.loading import sheet_load
from plantings.services.demo import demo_lead_make

__all__ = ["simulated_load", "simulated_sheets"]


def simulated_sheets(truth: Truth, seed: int) -> Iterator[DemoSheet]:
    """Every sheet in the order of loading, each made when its turn comes; the number in front of a name is that turn."""
    for number, (name, rows) in enumerate(simulated_rows(truth, seed), start=1):
        kind = name.removesuffix("_late")
        yield DemoSheet(f"{number:04d}_{name}.csv", kind, kind != name, sheet_csv(KINDS[kind], rows))


def simulated_load(sheets) -> Iterator[tuple[DemoSheet, object]]:
    """Load the sheets into an empty installation; yields each sheet with its plan once it is stored.

    Raises SheetRefused at the first sheet that does not fit; the sheets before it stay stored.
    """
    lead = demo_lead_make(**{name: value for name, value in LEAD.items() if name != "is_active"})
    for sheet in sheets:
        reason = "late sheets (simulated)" if sheet.is_late else ""
        yield sheet, sheet_load(actor=lead, kind=sheet.kind, content=sheet.content, filename=sheet.name, reason=reason)
