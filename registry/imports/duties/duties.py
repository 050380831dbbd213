"""Sheets of duties and of what was done about them."""

from django.core.exceptions import ValidationError

from registry import choices
from registry.calc.shared.screen import day_words
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell
from registry.imports.sheets.sheet import Sheet
from registry.models import Authorization, Duty, DutyDone, Partner, Person
from registry.services.duties.duties import duty_done_enter, duty_save


class DutySheet(Sheet):
    kind = "duty"
    title = "Duties"
    about = "What must be done by when, once or repeatedly. A duty continues after its paper has ended; close it on screen."
    action = "duty.view"
    edit_action = "duty.edit"
    model = Duty
    key = ("code",)

    code = SheetField("Duty", "code", TextCell(40), required=True, example="DU-EX-1")
    duty_kind = SheetField("Kind", "kind", ChoiceCell(choices.duty_kinds), required=True, example="report")
    title_text = SheetField("Title", "title", TextCell(160), required=True, example="Yearly report (example, not law)")
    authorization = SheetField("Paper", "authorization", RecordCell(Authorization), example="EX-PERMIT-1")
    partner = SheetField("Partner", "partner", RecordCell(Partner), example="")
    site_code = SheetField("Site", "site_code", TextCell(40), example="")
    recurrence = SheetField("Recurrence", "recurrence", ChoiceCell(choices.recurrences), required=True, example="yearly_on", was=("Comes",))
    first_due_on = SheetField("First due on", "first_due_on", DateCell(), required=True, example="2026-12-31")
    every = SheetField(
        "Interval (months or years)", "every", NumberCell(1, 600, whole=True), example=1, was=("Every so many months or years",)
    )
    season_month = SheetField("Season: month", "season_month", NumberCell(1, 12, whole=True), example=12, was=("Month of the day",))
    season_day = SheetField("Season: day", "season_day", NumberCell(1, 31, whole=True), example=31, was=("Day of the month",))
    days_before = SheetField("Days before that day", "days_before", NumberCell(0, 400, whole=True), example="")
    until_on = SheetField("Last occurrence by", "until_on", DateCell(), example="")
    lead_days = SheetField("Days of notice", "lead_days", NumberCell(0, 400, whole=True), example=30)
    responsible = SheetField("Responsible (sign-in name)", "responsible", RecordCell(Person, by="username"), example="a.lead")
    second = SheetField("Second (sign-in name)", "second", RecordCell(Person, by="username"), example="")
    evidence_wanted = SheetField(
        "Evidence required", "evidence_wanted", TextCell(200), example="copy of the report as sent", was=("Evidence wanted",)
    )
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("authorization", "partner", "responsible", "second")

    def save_record(self, record, many, actor, reason):
        return duty_save(actor=actor, duty=record, reason=reason)


class DutyDoneSheet(Sheet):
    kind = "duty_done"
    title = "Duties done"
    about = "What was done about a duty, one row for each due date. Correct a row that is on file on screen."
    action = "duty.view"
    edit_action = "duty.done"
    model = DutyDone
    key = ("duty", "due_on")

    duty = SheetField("Duty", "duty", RecordCell(Duty), required=True, example="DU-EX-1")
    due_on = SheetField("Due on", "due_on", DateCell(), required=True, example="2025-12-31", was=("Was due on",))
    done_on = SheetField("Done on", "done_on", DateCell(), required=True, example="2025-12-12")
    by = SheetField("By", "by", TextCell(80), required=True, example="A. Lead")
    evidence = SheetField("Evidence", "evidence", TextCell(), required=True, example="sent by mail, receipt 44")

    def stored_records(self):
        return super().stored_records().filter(superseded_by__isnull=True).select_related("duty")

    def save_row(self, values, item, actor, reason):
        if item.current is not None:
            day = day_words(item.current.due_on)
            raise ValidationError(f"A record for {day} is on file. Correct it on the page of the duty, with a reason.")
        return duty_done_enter(actor=actor, **values)
