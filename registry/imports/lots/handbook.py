"""Sheet of the handbook of species."""

from registry import choices
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.values import ChoiceCell, NameCell, NumberCell, TextCell
from registry.imports.sheets.plan import UNCHANGED, Problem
from registry.imports.sheets.sheet import Sheet
from registry.models import SpeciesHandbook
from registry.selectors.lots.handbook import handbook_problems
from registry.services.lots.storage import handbook_save, handbook_verify

_NOT_FIGURES = {
    "binomial", "source", "verified_on", "verified_by", "note", "fruit", "bath_c_low", "bath_c_high", "bath_minutes", "bath_against",
    "bath_source",
}  # fmt: skip


def _count(header, attribute, **options):
    return SheetField(header, attribute, NumberCell(0, **options), example="")


class HandbookSheet(Sheet):
    kind = "handbook"
    title = "Handbook of species"
    about = (
        "Seeds per kg and per lb, stratification, germination of a species, each row with its source; where a species takes a hot water "
        "bath, its temperatures and minutes. A row counts as not verified until someone has checked it against the printed page. Figures "
        "whose two units contradict each other are refused."
    )
    edit_action = "handbook.edit"
    model = SpeciesHandbook
    key = ("binomial", "source")

    binomial = SheetField("Binomial", "binomial", TextCell(120), required=True, example="Juglans cinerea")
    source = SheetField("Source", "source", TextCell(200), required=True, example="example, invented")
    seeds_per_kg_low = SheetField("Seeds per kg, low", "seeds_per_kg_low", NumberCell(), example=33)
    seeds_per_kg_mean = SheetField("Seeds per kg, mean", "seeds_per_kg_mean", NumberCell(), example=66)
    seeds_per_kg_high = SheetField("Seeds per kg, high", "seeds_per_kg_high", NumberCell(), example=88)
    seeds_per_lb_low = SheetField("Seeds per lb, low", "seeds_per_lb_low", NumberCell(), example=15)
    seeds_per_lb_mean = SheetField("Seeds per lb, mean", "seeds_per_lb_mean", NumberCell(), example=30)
    seeds_per_lb_high = SheetField("Seeds per lb, high", "seeds_per_lb_high", NumberCell(), example=40)
    warm_days_low = _count("Warm period, least (days)", "warm_days_low", whole=True)
    warm_days_high = _count("Warm period, most (days)", "warm_days_high", whole=True)
    warm_temperature = SheetField("Warm period at (°C)", "warm_temperature", TextCell(20), example="")
    cold_days_low = SheetField("Cold period, least (days)", "cold_days_low", NumberCell(0, whole=True), example=90)
    cold_days_high = SheetField("Cold period, most (days)", "cold_days_high", NumberCell(0, whole=True), example=120)
    cold_temperature = SheetField("Cold period at (°C)", "cold_temperature", TextCell(20), example="1-5")
    test_temperature = SheetField("Test at, day/night (°C)", "test_temperature", TextCell(20), example="30/20")
    test_days = SheetField("Test (days)", "test_days", TextCell(20), example="")
    germination_percent = SheetField("Germination (%)", "germination_percent", NumberCell(), example=65)
    germination_samples = SheetField(
        "Samples (count)", "germination_samples", NumberCell(0, whole=True), example=7, was=("Samples behind it (count)",)
    )
    storage_class = SheetField("Storage class", "storage_class", ChoiceCell(choices.storage_classes), example="unknown")
    use_by_month = _count("Use by, month after the harvest year (1-12)", "use_by_month", whole=True)
    use_by_day = _count("Use by, day of that month (1-31)", "use_by_day", whole=True)
    fruit = SheetField("What is picked", "fruit", TextCell(40), example="")
    bath_c_low = _count("Hot water bath from (°C)", "bath_c_low")
    bath_c_high = _count("Hot water bath to (°C)", "bath_c_high")
    bath_minutes = _count("Hot water bath (minutes)", "bath_minutes")
    bath_against = SheetField("Hot water bath against", "bath_against", TextCell(40), example="")
    bath_source = SheetField("Source of the bath", "bath_source", TextCell(200), example="")
    verified_on = SheetField("Checked against the printed page on", "verified_on", DateCell(), example="")
    verified_by = SheetField("Checked by", "verified_by", NameCell(80), example="")
    note = SheetField("Note", "note", TextCell(), example="")

    def check_items(self, plan):
        for item in plan.items:
            if item.outcome == UNCHANGED:
                continue
            self._check_figures(plan, item)
            self._check_verified(plan, item)
            if item.current and item.changes.keys() - _NOT_FIGURES and "verified_on" in item.values.keys() - item.changes.keys():
                message = "is the day the old figures were checked; clear it, or give the day the new figures were checked against it"
                self._add_problem(plan, Problem(item.row, self.header("verified_on"), str(item.values["verified_on"]), message))

    def _check_verified(self, plan, item):
        for given, other in (("verified_on", "verified_by"), ("verified_by", "verified_on")):
            if given in item.values and other not in item.values and not (item.current and getattr(item.current, other)):
                message = "is blank; say who checked the row against the printed page, and on which day"
                self._add_problem(plan, Problem(item.row, self.header(other), "", message))

    def _check_figures(self, plan, item):
        fields = self.sheet_fields()
        stored = {name: getattr(item.current, fields[name].attribute) for name in fields} if item.current else {}
        for name, message in handbook_problems(SpeciesHandbook(**stored | item.values)):
            self._add_problem(plan, Problem(item.row, self.header(name), str(item.values.get(name, "")), message))

    def save_row(self, values, item, actor, reason):
        checked = {name: values.pop(name) for name in ("verified_on", "verified_by") if name in values}
        row = item.current or SpeciesHandbook()
        for name, value in values.items():
            setattr(row, name, value)
        handbook_save(actor=actor, row=row, reason=reason)
        if checked.keys() & item.changes.keys() or (not item.current and checked):
            on, by = checked.get("verified_on", row.verified_on), checked.get("verified_by", row.verified_by)
            handbook_verify(actor=actor, row=row, on=on, by=by)
        return row
