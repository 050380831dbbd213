"""Forms of the sheets: sending one in, mapping its columns, storing it."""

import json

from django import forms
from django.conf import settings

from registry.calc.sheets.written_days import ISO_STYLE
from registry.imports.sheets.mapping import MORE_NAMES
from registry.imports.sheets.reading_options import DATE_STYLES, ReadingOptions, SheetError
from registry.imports.sheets.text import header_text

NOT_TAKEN, CONSTANT, RULED = "", "=", "{"
_BLANK, _ELSE = "(blank)", "(anything else)"


class SheetUploadForm(forms.Form):
    file = forms.FileField(
        label="Your sheet",
        help_text="CSV or XLSX up to 50 MB, or a map file up to 20 MB: GeoJSON, GeoPackage, KML, or a zipped shapefile. The file is stored "
        "as you sent it, whatever happens next.",
    )

    def clean_file(self):
        return self.sized(self.cleaned_data["file"])

    @staticmethod
    def sized(file):
        """A file of a size that is read. Raises ValidationError."""
        if file.size > settings.SHEET_MAX_BYTES:
            raise forms.ValidationError(
                f"{file.name} has {file.size / 1e6:.0f} MB; the limit is {settings.SHEET_MAX_BYTES / 1e6:.0f} MB. "
                "Delete empty rows and pictures, or split the sheet."
            )
        return file


class ReadingForm(forms.Form):
    """How the file is written, as the person who knows it says."""

    sheet = forms.ChoiceField(label="Sheet of the workbook", required=False)
    header_row = forms.IntegerField(label="Row with the column names", min_value=1, max_value=1000, initial=1)
    delimiter = forms.ChoiceField(
        label="Cells are separated by", required=False,
        choices=[("", "as the header row shows"), ("comma", "comma"), ("semicolon", "semicolon"), ("tab", "tab")],
    )  # fmt: skip
    decimal = forms.ChoiceField(label="Decimal sign", choices=[(".", "point: 3.5"), (",", "comma: 3,5")], initial=".")
    dates = forms.CharField(
        label="Dates are written",
        initial=ISO_STYLE,
        max_length=200,
        help_text=f"One of {', '.join(DATE_STYLES)}, or several with a semicolon between. "
        "A date with two readings is refused, not guessed.",
    )

    crs = forms.CharField(
        label="Coordinate reference system", max_length=100, required=False,
        help_text="Only for a map file that does not name its own, such as EPSG:26918.",
    )  # fmt: skip

    def __init__(self, *args, sheets=(), is_map=False, **kwargs):
        """`sheets` are the sheets of a workbook, or the layers of a map file (`is_map`), which has neither a header row nor delimiters."""
        super().__init__(*args, **kwargs)
        for name in ("header_row", "delimiter") if is_map else ("crs",):
            del self.fields[name]
        if is_map:
            self.fields["sheet"].label = "Layer"
        if sheets:
            self.fields["sheet"].choices = [(name, name) for name in sheets]
        else:
            del self.fields["sheet"]

    def clean_dates(self):
        try:
            ReadingOptions.from_spec({"dates": self.cleaned_data["dates"]})
        except SheetError as error:
            raise forms.ValidationError(str(error)) from None
        return self.cleaned_data["dates"]

    def spec(self):
        """Only what differs from the plain reading, so that a stored mapping stays short."""
        plain = {"header_row": 1, "delimiter": "", "decimal": ".", "dates": ISO_STYLE}
        return {name: value for name, value in self.cleaned_data.items() if value and value != plain.get(name)}


class MappingForm(forms.Form):
    """For each of our columns: which of theirs, or one value for all rows; and a stated change on the way."""

    name = forms.CharField(
        label="Save this mapping as",
        max_length=60,
        required=False,
        help_text="A name to find it by next year. Blank: it is used only once.",
    )

    unlisted_parents = forms.CharField(
        label="Parents without a row are founders: our column = value",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Such as “taxon = Juglans cinerea” and, on a second line, “generation = native”. Blank: such a parent is refused.",
    )

    more = forms.CharField(
        label="Rows, visits and names of files",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text='As in a mapping file: {"rows": [{"column": "Plot", "blank": false}]} uses the rows with a plot. '
        "Help → A mapping of columns has an example of each part.",
    )

    def __init__(self, *args, fields=None, headers=(), missing=None, has_parents=False, **kwargs):
        """`missing` are the headers a saved mapping names and this file does not have, by our field."""
        super().__init__(*args, **kwargs)
        if not has_parents:
            del self.fields["unlisted_parents"]
        self.sheet_fields = fields or {}
        self.missing = missing or {}
        choices = [
            (NOT_TAKEN, "not used"),
            (CONSTANT, "one value for every row"),
            (RULED, "as the rule says"),
            *((header, header) for header in headers if header),
        ]
        for name, field in self.sheet_fields.items():
            label = field.column_name + (" (needed)" if field.required else "")
            self.fields[f"from_{name}"] = forms.ChoiceField(label=label, choices=choices, required=False)
            self.fields[f"value_{name}"] = forms.CharField(label=f"{field.column_name}: value for every row", required=False)
            self.fields[f"rule_{name}"] = forms.CharField(
                label=f"{field.column_name}: their value = ours", required=False, widget=forms.Textarea(attrs={"rows": 2})
            )

    def rows(self):
        """(our column, from, value, rule, header that is missing) for the page."""
        return [
            (field, self[f"from_{name}"], self[f"value_{name}"], self[f"rule_{name}"], self.missing.get(name, ""))
            for name, field in self.sheet_fields.items()
        ]

    def clean(self):
        cleaned = super().clean()
        for name in self.sheet_fields:
            try:
                changes = parse_changes(cleaned.get(f"rule_{name}", ""))
                if cleaned.get(f"from_{name}") == RULED and not changes:
                    self.add_error(f"rule_{name}", 'Write the rule, such as {"join": ["Plot", "Tree"], "with": "-"}.')
            except ValueError as error:
                self.add_error(f"rule_{name}", str(error))
            if cleaned.get(f"from_{name}") == CONSTANT and not cleaned.get(f"value_{name}"):
                self.add_error(f"value_{name}", "Write the value that every row takes.")
        try:
            cleaned["unlisted_parents"] = parse_rule(cleaned.get("unlisted_parents", ""))
        except ValueError as error:
            self.add_error("unlisted_parents", str(error).replace("their value = ours", "our column = value"))
        try:
            cleaned["more"] = parse_more(cleaned.get("more", ""))
        except ValueError as error:
            self.add_error("more", str(error))
        return cleaned

    def spec(self):
        """The mapping as it is stored: its columns, what parents without a row are where that is declared, and its other parts."""
        declared = self.cleaned_data["unlisted_parents"]
        return {"columns": self.columns()} | ({"unlisted_parents": declared} if declared else {}) | self.cleaned_data["more"]

    def columns(self):
        columns = {}
        for name in self.sheet_fields:
            source = self.cleaned_data[f"from_{name}"]
            if source == CONSTANT:
                columns[name] = {"constant": self.cleaned_data[f"value_{name}"]}
            elif source:
                changes = parse_changes(self.cleaned_data[f"rule_{name}"])
                columns[name] = changes if source == RULED else {"from": source} | changes if changes else source
        return columns


def parse_rule(text):
    """The lines "their value = ours" of a rule as a dict; (blank) and (anything else) mean what they say."""
    values = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        theirs, sign, ours = line.rpartition("=")
        if not sign or not ours.strip():
            raise ValueError(f"Line {number} ('{line.strip()}') is not 'their value = ours'.")
        theirs = theirs.strip()
        ours = ours.strip()
        values[{_BLANK: "", _ELSE: "*"}.get(theirs, theirs)] = "" if ours == _BLANK else ours
    return values


def parse_changes(text):
    """A rule as a mapping says it: the lines "their value = ours", or the JSON of a mapping file. Raises ValueError in words."""
    if text.lstrip().startswith("{"):
        return _object(text)
    values = parse_rule(text)
    return {"values": values} if values else {}


def parse_more(text, names=MORE_NAMES):
    """The parts of a mapping that have no box of their own. Raises ValueError in words."""
    more = _object(text) if text.strip() else {}
    wrong = sorted(set(more) - set(names))
    if wrong:
        raise ValueError(f"“{wrong[0]}” is not one of the parts that are written here: {', '.join(names)}.")
    return more


def _object(text):
    try:
        read = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        raise ValueError(f"This is not JSON: {error}. Check the quotation marks and brackets.") from None
    if not isinstance(read, dict):
        raise ValueError("Write names and values in braces, as in a mapping file.")
    return read


def rule_text(values):
    return "\n".join(
        f"{ {'': _BLANK, '*': _ELSE}.get(theirs, theirs) } = {_BLANK if ours == '' else ours}" for theirs, ours in (values or {}).items()
    )


def mapping_initial(spec, bound):
    """Initial values of a MappingForm from a saved mapping, or from the columns whose headers are ours."""
    more = {name: spec[name] for name in MORE_NAMES if name in spec}
    initial = {"unlisted_parents": rule_text(spec.get("unlisted_parents")), "more": _json_text(more) if more else ""}
    columns = spec.get("columns") or {name: source.header for name, source in bound.items()}
    for name, given in columns.items():
        given = given if isinstance(given, dict) else {"from": given}
        if set(given) == {"constant"}:
            initial |= {f"from_{name}": CONSTANT, f"value_{name}": given["constant"]}
            continue
        header = given.get("from", RULED)
        header = header_text(header) if isinstance(header, str) else header  # as the file's own headers are read
        changes = {part: value for part, value in given.items() if part != "from"}
        plain = set(changes) <= {"values"}
        initial |= {f"from_{name}": header, f"rule_{name}": rule_text(changes.get("values")) if plain else _json_text(changes)}
    return initial


def _json_text(value):
    return json.dumps(value, ensure_ascii=False)


class StoreForm(forms.Form):
    """The form carries what was shown, so that nothing else is saved than what somebody agreed to."""

    shown = forms.CharField(widget=forms.HiddenInput)
    reason = forms.CharField(label="Reason for the changes", max_length=200, required=False)

    def __init__(self, *args, changes=False, **kwargs):
        super().__init__(*args, **kwargs)
        if changes:
            self.fields["reason"].required = True
            self.fields["reason"].help_text = "Rows that differ from the records on file are corrected. The reason is saved with each."
        else:
            del self.fields["reason"]


class LoadReasonForm(forms.Form):
    """Why a load is withdrawn, or its rest left out."""

    reason = forms.CharField(label="Reason", max_length=150)
