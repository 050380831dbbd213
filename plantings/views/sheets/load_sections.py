"""Sections of the page of a load: rows still out, the kinds in its sheet, and what stays of one that was withdrawn."""

from plantings.imports.combined.parts import COMBINED
from plantings.imports.kinds import KINDS
from plantings.views.sheets.load_words import RECORDS_SHOWN, address_or_none, list_or_none
from registry.calc.shared.screen import number_words
from registry.imports.sheets.plan import CHANGED, NEW, REPEATED, UNCHANGED, Problem, groups
from registry.selectors.loads.staying import staying_records
from registry.views.shared.sections import Section
from registry.views.shared.tables import Column

__all__ = ["KINDS_IN_SHEET", "ROWS_OUT", "STAYING", "WITHDRAWN", "WITHDRAWN_ROWS", "records_staying"]

KINDS_IN_SHEET = Section(
    title="Kinds in this sheet",
    rows=lambda page: page.kinds,
    columns=(
        Column("Kind", lambda line: KINDS[line[0]].title, url=lambda line: list_or_none(line[0])),
        *(
            Column(words, lambda line, name=name: number_words(line[1].get(name, 0)), "right")
            for words, name in (("New", NEW), ("Changed", CHANGED), ("Unchanged", UNCHANGED), ("Said again", REPEATED))
        ),
    ),
    unit="kinds",
    when=lambda page: page.object.kind == COMBINED.kind,
)
ROWS_OUT = Section(
    title="Rows still out",
    id="out",
    rows=lambda page: groups(Problem(row, "", "", words) for row, words in page.rows_out),
    columns=(
        Column("Rows", lambda group: len(group.rows), "right", kind="number"),
        Column("What to correct", "message", wide=True),
        Column("Which", lambda group: group.row_words()),
    ),
    unit="kinds of fault",
    note="Download the rest, correct it and send it here. Leave the column “What to correct” in: it says which row is which.",
)


def records_staying(load):
    """The first records of a withdrawn load that stay, lots first, each with its kind."""
    if not load.withdrawn:
        return []
    found = [
        (record, model._meta.verbose_name)
        for model, keys in staying_records(load).items()
        for record in model._base_manager.filter(pk__in=sorted(keys)[:RECORDS_SHOWN]).order_by("pk")
    ]
    return found[:RECORDS_SHOWN]


STAYING = Section(
    title="What stays, with nothing on hand",
    rows=lambda page: page.staying,
    columns=(
        Column("Record", lambda line: str(line[0]), url=lambda line: address_or_none(line[0])),
        Column("Kind", lambda line: line[1], kind="soft"),
    ),
    unit="records",
    note="Ledger entries are reversed and never deleted, and neither are ratings, tests and the like. Their lots stay, those with a ledger "
    "closed, with a balance of 0; their trees stay, in no orchard; and so does what those name.",
    when=lambda page: page.staying,
)
WITHDRAWN = Section(
    title="Withdrawn, with rejected census records",
    rows=lambda page: page.object.withdrawn_records.select_related("tree", "plot", "round"),
    columns=(
        Column("Record", lambda line: str(line), wide=True),
        Column("Kind", lambda line: line.record._meta.verbose_name, kind="soft"),
        Column("Lot", "lot_code"),
        Column("Block", "block_code"),
    ),
    unit="records",
    most=RECORDS_SHOWN,
    note="Census records are never deleted. These trees, plots and rounds were never planted or held: only rejected records name "
    "them, and they are counted nowhere.",
    when=lambda page: page.object.withdrawn_records.exists(),
)
WITHDRAWN_ROWS = Section(
    title="Withdrawn, counted nowhere",
    rows=lambda page: page.object.withdrawn_rows.select_related("entered_by"),
    columns=(
        Column("Record", lambda line: str(line.record), wide=True),
        Column("Kind", lambda line: line.record._meta.verbose_name, kind="soft"),
        Column("By", "entered_by", kind="soft"),
        Column("On", "entered_at", kind="date"),
    ),
    unit="records",
    most=RECORDS_SHOWN,
    note="What they say is never deleted. They are in no list, no sheet and no figure.",
    when=lambda page: page.object.withdrawn_rows.exists(),
)
