"""Sheets of the rules and of the classes of material they speak of."""

from django.core.exceptions import ValidationError

from registry import choices
from registry.imports.gate.code_cells import CodesCell, declared_columns
from registry.imports.sheets.append_only_sheets import StoredOnce
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.values import ChoiceCell, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import MaterialClass, Requirement, RuleVerification
from registry.selectors.gate.code_lists import FORM_CODES, TAXON_NAMES
from registry.selectors.gate.rule_fields import RULE_FIELDS
from registry.services.gate.rules import requirement_save, requirement_verify


class MaterialClassSheet(Sheet):
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


class RequirementSheet(Sheet):
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


class RuleVerificationSheet(StoredOnce, Sheet):
    kind = "rule_verification"
    title = "Verifications of rules"
    about = (
        "Who asked which authority about a rule, and when, one row for each time, past ones too. The sheet of rules has the last one only."
    )
    action = "rule.view"
    edit_action = "rule.verify"
    model = RuleVerification
    key = ("rule", "edition", "verified_on")
    changed_words = "A verification that was entered does not change. Correct it on the page of the rule."

    rule = SheetField("Rule", "requirement__code", TextCell(40), required=True, example="EX-RULE-1")
    edition = SheetField("Edition", "requirement__edition", TextCell(60), required=True, example="2026")
    verified_on = SheetField("Asked on", "verified_on", DateCell(), required=True, example="2026-01-10")
    verified_with = SheetField("Verified with", "verified_with", TextCell(160), required=True, example="Example plant office, A. Clerk")
    verified_by = SheetField("Asked by", "verified_by", TextCell(80), required=True, example="A. Lead")
    review_by = SheetField("Ask again by", "review_by", DateCell(), example="2027-01-10")

    def stored_records(self):
        return super().stored_records().in_effect().select_related("requirement")

    def add_row(self, values, actor, reason):
        code, edition = values.pop("rule"), values.pop("edition")
        rule = Requirement.objects.filter(code=code, edition=edition).first()
        if rule is None:
            raise ValidationError({"rule": f"Edition {edition} of rule {code} is not on file. Load the rules first."})
        return requirement_verify(actor=actor, rule=rule, **values)
