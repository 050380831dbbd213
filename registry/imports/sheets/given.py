"""Values that come with a file: from its name, from the name of its sheet, and given by whoever loads it."""

from registry.calc.sheets.name_patterns import name_pattern
from registry.imports.sheets.reading_options import SheetError


def with_given(spec, filename, sheet):
    """The mapping with everything that {"given": …} may name: `file` and `sheet`, the places of the patterns, and what it gives itself.

    Whoever loads the file goes before all ("set"), a name before what the mapping gives.
    Raises SheetError where a name is written otherwise than its pattern.
    """
    given, said_now = spec.get("given") or {}, spec.get("set", {})
    spec = {name: value for name, value in spec.items() if name != "set"}
    if not isinstance(given, dict) or not isinstance(said_now, dict):
        return spec  # refused where it is read
    found = given | {"file": filename.rpartition(".")[0] or filename, "sheet": sheet}
    for part, what, said in (("file_name", "file", filename), ("sheet_name", "sheet", sheet)):
        if part in spec:
            found |= _places(spec[part], part, what, said)
    return spec | {"given": found | said_now}


def _places(written, part, what, said):
    try:
        pattern = name_pattern(written)
    except (ValueError, TypeError) as error:
        raise SheetError(f'"{part}" of the mapping: {error if isinstance(error, ValueError) else "write a text"}') from None
    try:
        return pattern.read(said)
    except ValueError as error:
        raise SheetError(
            f"The name of the {what}, '{said}', {error}, as \"{part}\" of the mapping says. Rename it, or correct the mapping."
        ) from None
