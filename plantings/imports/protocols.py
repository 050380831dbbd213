"""Sheets of what the census asks for: the programme's own measurements, the protocols."""

import re

from django.core.exceptions import ValidationError

from plantings.calc.census.codes import Code
from plantings.calc.census.own_measurements import ClassesFault, classes_text, read_classes
from plantings.models import OwnMeasurement, Protocol
from plantings.services.census.protocols import measurement_add, measurement_say, protocol_add
from registry.imports.sheets.append_only_sheets import StoredOnce
from registry.imports.sheets.cells.cell import Cell, CellError, SheetField
from registry.imports.sheets.cells.values import NumberCell, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.imports.sheets.text import cell_text

_NAME = re.compile(r"[a-z][a-z0-9_]*")
_FRENCH = "fr"
_SAID = ("name", "unit", "taken", "classes")
_WORDS = tuple(f"{field}_{_FRENCH}" for field in _SAID)


class _ClassesCell(Cell):
    """Classes as `read_classes` reads them."""

    is_text = True

    def parser(self, options):
        def parse(value):
            try:
                return classes_text(read_classes(cell_text(value)))
            except ClassesFault as fault:
                raise CellError(str(fault)) from None

        return parse

    def render(self, value, obj=None, **kwargs):
        return value if isinstance(value, str) else classes_text(Code(code, words, "") for code, words in value or ())


class _NamesCell(Cell):
    """Names in their order, separated by semicolons."""

    is_text = True

    def parser(self, options):
        def parse(value):
            names = [name.strip() for name in cell_text(value).split(";") if name.strip()]
            if wrong := [name for name in names if not _NAME.fullmatch(name)]:
                raise CellError(f"“{wrong[0][:40]}” is not the name of a measurement. Write names such as height; leaf_spot_v1")
            return names

        return parse

    def render(self, value, obj=None, **kwargs):
        return "; ".join(value or ())


class _Version(StoredOnce, Sheet):
    """A sheet of records in versions: a row of a version on file never changes it."""

    action = "protocol.view"
    edit_action = "protocol.edit"
    key = ("code", "version")
    changed_words = "A version never changes. Give the changed one the next version."

    def stored_records(self):
        return super().stored_records().order_by("code", "version")


class OwnMeasurementSheet(_Version):
    kind = "measurement"
    title = "Own measurements"
    about = (
        "What the programme measures besides what Mastbook knows: a number with its lowest and highest value, or classes from nothing to "
        "most. Versions of a code follow each other from 1."
    )
    model = OwnMeasurement

    code = SheetField("Code", "code", TextCell(24), required=True, example="leaf_spot")
    version = SheetField("Version", "version", NumberCell(1, 9_999, whole=True), required=True, example=1)
    name = SheetField("Name", "name", TextCell(40), required=True, example="Leaf spot")
    unit = SheetField("Unit", "unit", TextCell(20), example="")
    classes = SheetField("Classes", "classes", _ClassesCell(), example="0 = none; 1 = some leaves; 2 = most leaves")
    low = SheetField("Lowest value", "low", NumberCell(-1e9, 1e9), example="")
    high = SheetField("Highest value", "high", NumberCell(-1e9, 1e9), example="")
    loss_most = SheetField("Only grows: less by at most", "loss_most", NumberCell(0, 1e9), example="")
    gain_most = SheetField("Most growth in a year", "gain_most", NumberCell(0, 1e9), example="")
    whole = SheetField("Whole numbers only (yes/no)", "whole", YesNoCell(), example="no")
    taken = SheetField("How it is taken", "taken", TextCell(300), required=True, example="All leaves in reach of the ground.")
    from_season = SheetField("From growing season", "from_season", NumberCell(0, 300, whole=True), example=2)

    name_fr = SheetField("Name (French)", "name_fr", TextCell(60), example="Taches foliaires")
    unit_fr = SheetField("Unit (French)", "unit_fr", TextCell(20), example="")
    taken_fr = SheetField("How it is taken (French)", "taken_fr", TextCell(400), example="Toutes les feuilles à portée du sol.")
    classes_fr = SheetField("Classes (French)", "classes_fr", _ClassesCell(), example="0 = aucune; 1 = quelques feuilles; 2 = la plupart")

    def stored_records(self):
        return super().stored_records().prefetch_related("in_languages")

    def export_rows(self, queryset):
        return queryset.prefetch_related("in_languages")

    def current_value(self, record, name, field):
        if name in _WORDS:
            return _said(record, name)
        value = super().current_value(record, name, field)
        return field.widget.render(value) if name == "classes" else value

    def export_field(self, field, instance, **kwargs):
        name = field.attribute
        return field.widget.render(_said(instance, name)) if name in _WORDS else super().export_field(field, instance, **kwargs)

    def add_row(self, values, actor, reason):
        words = {name: values.pop(name) for name in _WORDS if name in values}
        record = measurement_add(actor=actor, reason=reason, **values)
        if any(words.values()):
            self.say(record, words, actor, reason)
        return record

    def save_row(self, values, item, actor, reason):
        """Words in another language change without a new version; all else is a new one."""
        if item.current and set(item.changes) <= set(_WORDS):
            stored = {name: _said(item.current, name) for name in _WORDS}
            self.say(item.current, stored | {name: values[name] for name in item.changes}, actor, reason)
            return item.current
        return super().save_row(values, item, actor, reason)

    @staticmethod
    def say(record, words, actor, reason):
        """Store the words of a row; what is wrong with them is said at their own columns."""
        given = {field: words.get(f"{field}_{_FRENCH}") or "" for field in _SAID}
        try:
            measurement_say(actor=actor, measurement=record, language=_FRENCH, reason=reason, **given)
        except ValidationError as fault:
            if not hasattr(fault, "error_dict"):
                raise
            raise ValidationError({f"{field}_{_FRENCH}": said for field, said in fault.message_dict.items()}) from None


def _said(record, name):
    """A cell of the words in another language, from the newest that are on file."""
    field, _, language = name.rpartition("_")
    words = max((words for words in record.in_languages.all() if words.language == language), key=lambda words: words.pk, default=None)
    if words is None:
        return None
    if field == "classes":
        return classes_text(Code(code, said, "") for (code, _words), said in zip(record.classes, words.classes, strict=True))
    return getattr(words, field)


class ProtocolSheet(_Version):
    kind = "protocol"
    title = "Census protocols"
    about = "What the rounds of a protocol ask for at each tree, in order. Versions of a code follow each other from 1."
    model = Protocol

    code = SheetField("Code", "code", TextCell(24), required=True, example="standard")
    version = SheetField("Version", "version", NumberCell(1, 9_999, whole=True), required=True, example=1)
    asks = SheetField("Asks for", "asks", _NamesCell(), example="height; canker")
    about_text = SheetField("How the round is done", "about", TextCell(), example="Two people, one calls and one writes.")

    def add_row(self, values, actor, reason):
        about = values.pop("about_text", "")
        return protocol_add(actor=actor, asks=values.pop("asks", []), about=about, reason=reason, **values)

    def differences(self, before, after):
        """The same measurements in another order are a difference."""
        return [name for name, value in after.items() if (before.get(name) or "") != (value or "")]
