"""Sheets of evidence of identity and of measured shares of the donor."""

from registry import choices
from registry.imports.sheets.append_only_sheets import AppendOnlySheet, number_field
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, DecimalCell, NumberCell, TextCell
from registry.models import IdentityEvidence, Lot, MeasuredShare, PedigreeTree, PollenPool
from registry.services.identity.questions import evidence_enter
from registry.services.orchard.shares import share_enter


class MeasuredShareSheet(AppendOnlySheet):
    kind = "measured_share"
    title = "Measured shares of the donor"
    about = "Genotyped shares of the donor species, of one tree or as the mean of a sample of a lot. They do not replace the expected ones."
    edit_action = "share.enter"
    model = MeasuredShare
    key = ("sampled_on",)
    told_apart = ("tree", "lot", "sampled_on")
    changed_words = "A measured share does not change once it is entered. Enter the right one as another of that day."

    tree = SheetField("Tree", "tree", RecordCell(PedigreeTree), example="MB-A-012")
    lot = SheetField("Lot", "lot", RecordCell(Lot), example="")
    sampled_on = SheetField("Sampled on", "sampled_on", DateCell(), required=True, example="2021-06-15")
    nth = number_field()
    donor_share = SheetField("Donor share (0-1)", "donor_share", DecimalCell(0, 1, places=4), required=True, example=0.0712)
    standard_error = SheetField("Standard error (0-1)", "standard_error", DecimalCell(0, 1, places=4), example=0.008)
    sample_size = SheetField("Plants genotyped (count)", "sample_size", NumberCell(1, whole=True), example=1)
    markers = SheetField("Markers read (count)", "markers", NumberCell(1, whole=True), example=96)
    method = SheetField("Method", "method", TextCell(120), required=True, example="SNP panel, method of moments")
    laboratory = SheetField("Laboratory", "laboratory", TextCell(120), example="Example laboratory (invented)")
    reference = SheetField("Laboratory's reference", "reference", TextCell(80), example="EX-0117")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("tree", "lot")

    def check_items(self, plan):
        super().check_items(plan)
        self.check_one_of(plan, ("tree", "lot"))

    def key_words(self, item):
        return _about(self, item, ("tree", "lot")) + super().key_words(item)

    def add_row(self, values, actor, reason):
        return share_enter(actor=actor, **values)


class IdentityEvidenceSheet(AppendOnlySheet):
    kind = "identity_evidence"
    title = "Evidence of identity"
    about = (
        "What was checked, on which day, and whether it supports the recorded identity of a tree, lot or pollen pool. "
        "It does not raise a question: raise one on the page of the record."
    )
    edit_action = "evidence.enter"
    model = IdentityEvidence
    key = ("on", "evidence_kind")
    told_apart = ("tree", "lot", "pool", "on", "evidence_kind")
    changed_words = "Evidence does not change once it is entered. Enter what is new as another piece of that day."

    tree = SheetField("Tree", "tree", RecordCell(PedigreeTree), example="MB-A-012")
    lot = SheetField("Lot", "lot", RecordCell(Lot), example="")
    pool = SheetField("Pollen pool", "pool", RecordCell(PollenPool), example="")
    on = SheetField("Checked on", "on", DateCell(), required=True, example="2021-06-15", was=("Looked at on",))
    evidence_kind = SheetField("Evidence", "kind", ChoiceCell(choices.evidence_kinds), required=True, example="label")
    nth = number_field()
    outcome = SheetField("Outcome", "outcome", ChoiceCell(choices.evidence_outcomes), required=True, example="supports")
    by = SheetField("Checked by", "by", TextCell(80), required=True, example="A. Manager", was=("Looked at by",))
    text = SheetField("What was seen", "text", TextCell(), required=True, example="aluminium tag on the stem, same code as the map")
    reference = SheetField("Sample or report number", "reference", TextCell(80), example="EX-0117")

    def stored_records(self):
        return super().stored_records().select_related("tree", "lot", "pool")

    def check_items(self, plan):
        super().check_items(plan)
        self.check_one_of(plan, ("tree", "lot", "pool"))

    def key_words(self, item):
        return _about(self, item, ("tree", "lot", "pool")) + super().key_words(item)

    def add_row(self, values, actor, reason):
        about = next(values.pop(name) for name in ("tree", "lot", "pool") if name in values)
        return evidence_enter(actor=actor, about=about, kind=values.pop("evidence_kind"), **values)


def _about(sheet, item, names):
    return "".join(f"{sheet.header(name).lower()} {item.values[name]}, " for name in names if name in item.values)
