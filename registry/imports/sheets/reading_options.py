"""How a file is written, as the mapping declares it or the page asks for it."""

from dataclasses import dataclass

from registry.calc.sheets.written_days import ISO_STYLE, SPREADSHEET_DAYS, is_day_style

# what a sheet of a spreadsheet can hold (ECMA-376 leaves it open; common practice of the programs, no source)
MAX_ROWS, MAX_COLUMNS = 1_048_576, 16_384
# those that the page offers
DATE_STYLES = ("YYYY-MM-DD", "DD.MM.YYYY", "DD/MM/YYYY", "MM/DD/YYYY", "D Mon YYYY", "Mon YYYY", "YYYY", *SPREADSHEET_DAYS)
_DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t"}
GUESSED_DELIMITERS = tuple(_DELIMITERS.values())


class SheetError(ValueError):
    """The file as a whole cannot be read. The text says what it is and what to do."""


@dataclass(frozen=True)
class ReadingOptions:
    """How the user says the file is written. Nothing here is guessed silently except encoding and delimiter."""

    delimiter: str = ""
    sheet: str = ""
    header_row: int = 1
    decimal: str = "."
    dates: tuple = (ISO_STYLE,)
    crs: str = ""  # of a map file that does not name its own
    codes_in_sheet: frozenset = frozenset()

    @classmethod
    def from_spec(cls, spec):
        """The options a mapping declares. Raises SheetError for one that cannot be meant."""
        options = {}
        for name, (fits, says) in _FITTING.items():
            given = spec.get(name)
            if given is None or given == "":
                continue
            if not fits(given):
                raise SheetError(f"The mapping gives {name} as {given!r}. {says}")
            options[name] = given
        if "delimiter" in options:
            options["delimiter"] = _DELIMITERS.get(options["delimiter"], options["delimiter"])
        if "dates" in options:
            options["dates"] = tuple(_styles(options["dates"]))
        return cls(**options)


def _is_delimiter(given):
    return given in _DELIMITERS if isinstance(given, str) and len(given) != 1 else may_delimit(given)


def _styles(given):
    return [style.strip() for style in given.split(";")] if isinstance(given, str) else given


def _are_day_styles(given):
    return isinstance(given, list) and 0 < len(given) <= 10 and all(isinstance(style, str) and is_day_style(style) for style in given)


def may_delimit(given):
    """Whether a sign can divide the cells of a line."""
    return isinstance(given, str) and not given.isalnum() and given not in "\"'\r\n\0+-."


_FITTING = {
    "delimiter": (_is_delimiter, "Declare comma, semicolon or tab, or the one character between the cells."),
    "sheet": (lambda given: isinstance(given, str), "Give the name of a sheet of the workbook, in quotation marks."),
    "header_row": (lambda given: type(given) is int and 0 < given <= MAX_ROWS, "Give the number of the row with the column names, from 1."),
    "decimal": (lambda given: given in (".", ","), "Declare '.' or ','."),
    "crs": (
        lambda given: isinstance(given, str) and len(given) <= 100,
        "Give the code of a coordinate reference system, such as EPSG:26918.",
    ),
    "dates": (
        lambda given: _are_day_styles(_styles(given)),
        f"Declare one of {', '.join(DATE_STYLES)}, others made of YYYY, YY, MM, M, Mon, DD, D and time, or a list of these.",
    ),
}  # fmt: skip
