"""Sheets of the rules and of the classes of material they speak of."""

from registry import choices
from registry.imports.gate.code_cells import CodesCell, declared_columns
from registry.imports.sheets.cells import ChoiceCell, SheetField, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import MaterialClass, Requirement
from registry.selectors.gate.code_lists import FORM_CODES, TAXON_NAMES
from registry.selectors.gate.rule_fields import RULE_FIELDS
from registry.services.gate.rules import requirement_save


class ListsMixin:
    """Lists of codes are stored in the record itself, not as links to other records."""

    def save_row(self, values, item, actor, reason):
        record = item.current or self.model()
        for name, value in values.items():
            setattr(record, self.sheet_fields()[name].attribute, value)
        return self.save_record(record, {}, actor, reason)


class MaterialClassSheet(ListsMixin, Sheet):
    kind = "material_class"
    title = "Material classes"
    about = "Classes of material that rules name, each with what falls into it. Lots declared by hand are ticked on screen."
    action = "rule.view"
    edit_action = "rule.edit"
    model = MaterialClass
    key = ("code",)

    code = SheetField("Class", "code", TextCell(40), required=True, example="hybrid-of-donor")
    title_text = SheetField("Title", "title", TextCell(160), required=True, example="Hybrid of a non-native donor")
    rule = SheetField(
        "Recognised by", "rule", ChoiceCell(choices.class_rules), required=True, example="donor_ancestry", was=("What falls into it",)
    )
    taxa = SheetField("Species or genera", "taxa", CodesCell(TAXON_NAMES), example="")
    forms = SheetField("Forms", "forms", CodesCell(FORM_CODES), example="")
    is_inherited = SheetField("Seed inherits it (yes/no)", "is_inherited", YesNoCell(), example="no", was=("Seed takes it over (yes/no)",))
    source = SheetField("Source", "source", TextCell(300), example="common practice, no source")
    is_example = SheetField("Example, not law (yes/no)", "is_example", YesNoCell(), example="yes")
    note = SheetField("Note", "note", TextCell(), example="")


class RequirementSheet(ListsMixin, Sheet):
    kind = "rule"
    title = "Rules"
    about = "What a text requires, with its source. A rule counts as not verified until somebody has asked the authority."
    action = "rule.view"
    edit_action = "rule.edit"
    model = Requirement
    key = ("code", "edition")

    vars().update(declared_columns(RULE_FIELDS, Requirement))

    def save_record(self, record, many, actor, reason):
        return requirement_save(actor=actor, rule=record, reason=reason)
