"""Sheet of the self-sown seedlings."""

from django.core.exceptions import ValidationError

from plantings.calc.census.rules import NOTE_LENGTH_MAX
from plantings.models import Planting, SelfSown
from plantings.services.field_form.self_sown import self_sown_correct, self_sown_record
from registry.imports.sheets.append_only_sheets import AGAIN
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import PartDateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import NumberCell, TextCell
from registry.imports.sheets.sheet import Sheet


class SelfSownSheet(Sheet):
    kind = "self_sown"
    title = "Self-sown seedlings"
    about = (
        "One row for each place and round where seedlings came up by themselves. They are noted apart from the planted trees and are in no "
        "figure of survival. A row that differs from the record on file corrects it."
    )
    edit_action = "census.enter"
    model = SelfSown
    key = ("planting", "round", "place")

    planting = SheetField("Planting", "round__planting", RecordCell(Planting), required=True, example="ST-04-2020")
    round = SheetField("Season", "round__label", TextCell(40), required=True, example="2020 autumn")
    place = SheetField("Where", "place", TextCell(120), required=True, example="along the north fence")
    seedlings = SheetField("Seedlings (count)", "seedlings", NumberCell(0, whole=True), example=12)
    observed_on = SheetField("Observed on", "observed_on", PartDateCell(), required=True, example="2020-09-12")
    observer = SheetField("Observer", "observer", TextCell(120), example="R. Counter")
    note = SheetField("Note", "note", TextCell(NOTE_LENGTH_MAX), example="")

    def stored_records(self):
        return SelfSown.objects.current().select_related("round__planting").order_by("observed_on", "pk")

    def export_rows(self, queryset):
        return queryset.select_related("round__planting")

    def save_row(self, values, item, actor, reason):
        planting = values.pop("planting")
        census_round = planting.rounds.filter(label=values.pop("round")).first()
        if census_round is None:
            raise ValidationError({"round": f"is not a round of planting {planting.code}; load or add the round first"})
        if item.current:
            return self_sown_correct(actor=actor, record=item.current, reason=reason or AGAIN, **values)
        return self_sown_record(actor=actor, census_round=census_round, **values)
