"""Sheets of the rules and of the classes of material they speak of."""

from functools import partial

from registry import choices
from registry.compliance.gate.place_codes import check_pattern, check_region
from registry.compliance.gate.words import ACTIVITIES
from registry.imports.sheets.cells import Cell, CellError, ChoiceCell, DateCell, SheetField, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.imports.sheets.text import cell_text
from registry.models import MaterialClass, Requirement
from registry.services.gate.rules import requirement_save


class CodesCell(Cell):
    """Several codes in one cell, with a semicolon between them. `options` gives those there are; `check` raises ValueError."""

    is_text = True

    def __init__(self, options=None, check=None):
        super().__init__()
        self.options, self.check = options, check

    def parser(self, options):
        known = {code.casefold(): code for code in self.options()} if self.options else None
        text = TextCell().parser(options)

        def parse(value):
            codes = []
            for word in filter(None, (part.strip() for part in text(value).split(";"))):
                if known is not None and word.casefold() not in known:
                    raise CellError(f"names “{word}”, which is not in the list; write one or more of {'; '.join(known.values())}")
                try:
                    if self.check:
                        self.check(word)
                except ValueError as error:
                    raise CellError(str(error)) from error
                codes.append(known[word.casefold()] if known is not None else word)
            return list(dict.fromkeys(codes))

        return parse

    def render(self, value, obj=None, **kwargs):
        return "; ".join(value or [])


class PaperSetsCell(CodesCell):
    """Papers a rule asks for: sets with a semicolon between them, the types that do within a set with “or” between them."""

    def parser(self, options):
        types = CodesCell(partial(_codes, choices.authorization_types)).parser(options)

        def parse(value):
            return [types(part.replace(" or ", ";")) for part in cell_text(value).split(";") if part.strip()]

        return parse

    def render(self, value, obj=None, **kwargs):
        return "; ".join(" or ".join(kinds) for kinds in value or [])


def _codes(options):
    return [code for code, _label in options()]


def place_codes():
    return CodesCell(check=check_pattern)


class RegionCell(Cell):
    """A country or subdivision by its ISO 3166 code."""

    is_text = True

    def parser(self, options):
        def parse(value):
            code = cell_text(value).upper()
            try:
                check_region(code)
            except ValueError as error:
                raise CellError(str(error)) from error
            return code

        return parse


def region_code():
    return RegionCell()


def activity_codes():
    return CodesCell(lambda: list(ACTIVITIES))


def form_codes():
    return CodesCell(partial(_codes, choices.material_forms))


class ListsMixin:
    """Lists of codes are stored in the record itself; they are no links to other records."""

    def save_row(self, values, item, actor, reason):
        record = item.current or self.model()
        for name, value in values.items():
            setattr(record, self.sheet_fields()[name].attribute, value)
        return self.save_record(record, {}, actor, reason)


class MaterialClassSheet(ListsMixin, Sheet):
    kind = "material_class"
    title = "Material classes"
    about = "Classes of material that rules speak of, each with what falls into it. Lots declared by hand are ticked on screen."
    action = "rule.view"
    edit_action = "rule.edit"
    model = MaterialClass
    key = ("code",)

    code = SheetField("Class", "code", TextCell(40), required=True, example="hybrid-of-donor")
    title_text = SheetField("Title", "title", TextCell(160), required=True, example="Hybrid of a non-native donor")
    rule = SheetField("What falls into it", "rule", ChoiceCell(choices.class_rules), required=True, example="donor_ancestry")
    taxa = SheetField("Species or genera", "taxa", CodesCell(), example="")
    forms = SheetField("Forms", "forms", form_codes(), example="")
    is_inherited = SheetField("Seed takes it over (yes/no)", "is_inherited", YesNoCell(), example="no")
    source = SheetField("Source", "source", TextCell(300), example="common practice, no source")
    is_example = SheetField("Example, not law (yes/no)", "is_example", YesNoCell(), example="yes")
    note = SheetField("Note", "note", TextCell(), example="")


class RequirementSheet(ListsMixin, Sheet):
    kind = "rule"
    title = "Rules"
    about = "What a text asks for, with its source. A rule counts as not verified until somebody asked the authority."
    action = "rule.view"
    edit_action = "rule.edit"
    model = Requirement
    key = ("code", "edition")

    code = SheetField("Rule", "code", TextCell(40), required=True, example="EX-RULE-1")
    edition = SheetField("Edition", "edition", TextCell(60), required=True, example="2026")
    title_text = SheetField("Title", "title", TextCell(200), required=True, example="Example rule (invented, not law)")
    text = SheetField("What it asks for, in our words", "text", TextCell(), example="")
    activities = SheetField("Activities", "activities", activity_codes(), example="dispatch; establish")
    classes = SheetField("Material classes", "classes", CodesCell(), example="hybrid-of-donor")
    forms = SheetField("Forms", "forms", form_codes(), example="")
    taxa = SheetField("Species or genera", "taxa", CodesCell(), example="Juglans")
    origins = SheetField("From places", "origins", place_codes(), example="outside US-VT")
    destinations = SheetField("To places", "destinations", place_codes(), example="US-VT")
    transits = SheetField("By way of", "transits", place_codes(), example="")
    from_on = SheetField("Applies from", "from_on", DateCell(), example="2026-01-01")
    until_on = SheetField("Applies until", "until_on", DateCell(), example="")
    any_of = SheetField("Papers needed", "any_of", PaperSetsCell(), example="permit or none_needed; certificate")
    blocking = SheetField("Stops dispatch and establishing (yes/no)", "blocking", YesNoCell(), example="yes")
    source = SheetField("Source", "source", TextCell(300), required=True, example="invented for this example")
    verified_on = SheetField("Verified on", "verified_on", DateCell(), example="")
    verified_with = SheetField("Verified with", "verified_with", TextCell(160), example="")
    verified_by = SheetField("Verified by", "verified_by", TextCell(80), example="")
    review_by = SheetField("To be asked again by", "review_by", DateCell(), example="")
    is_example = SheetField("Example, not law (yes/no)", "is_example", YesNoCell(), example="yes")

    def save_record(self, record, many, actor, reason):
        return requirement_save(actor=actor, rule=record, reason=reason)
