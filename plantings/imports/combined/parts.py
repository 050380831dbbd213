"""One sheet that holds records of several kinds: what its mapping says of each kind.

    {"parts": {"lot": {"columns": {"code": "Source", …}},
               "tree": {"columns": {…}, "rows": [{"column": "Tag", "blank": false}]}},
     "decimal": ",", "rows": […], …}

A part is a mapping of its own (`registry/imports/sheets/mapping.py`). What is written beside "parts" holds for all of them: how the file is
written, and whatever a part does not say itself. Rows to use are those that both name. The parts are loaded in the order of `KINDS`,
wherever they are in the mapping, so that a row can name what the same row brings in.
"""

import json

from plantings.imports.combined.second_sheets import SECOND_FILES, SECOND_SHEETS
from plantings.imports.kinds import KINDS
from registry.imports.sheets.mapping import MORE_NAMES
from registry.imports.sheets.reading_options import SheetError

__all__ = ["COMBINED", "KIND_PARTS", "allowed_parts", "rows_by_kind", "sheet_parts"]

KIND_PARTS = ("columns", "unlisted_parents", *MORE_NAMES)
_EXAMPLE = '{"parts": {"lot": {"columns": {"code": "Source"}}, "tree": {"columns": {"tag": "Plant_ID"}}}}'


class COMBINED:
    """The word and the title of such a sheet, where other sheets have their kind."""

    kind = "combined"
    title = "Several kinds in one sheet"
    about = "One sheet with one row for each tree, say, that also has its site, lot, block and census: one mapping loads all of it at once."
    action = edit_action = "import.run"


def sheet_parts(spec):
    """[(kind, mapping of that kind)] of a combined mapping, in load order. Raises SheetError."""
    parts = spec.get("parts")
    if not isinstance(parts, dict) or not parts:
        raise SheetError(f"The mapping does not say what kinds of records the sheet holds. Write {_EXAMPLE}.")
    if unknown := sorted(set(parts) - KINDS.keys()):
        raise SheetError(f"\"parts\" of the mapping has '{unknown[0]}', which is not a kind of sheet. The kinds are: {', '.join(KINDS)}.")
    shared = {name: value for name, value in spec.items() if name not in ("parts", SECOND_SHEETS, SECOND_FILES)}
    if "columns" in shared:
        raise SheetError(f'The mapping has "columns" beside "parts". Write the columns of each kind inside its part: {_EXAMPLE}.')
    return [(kind, _part(kind, parts[kind], shared)) for kind in KINDS if kind in parts]


def rows_by_kind(rows, spec):
    """About how many records a sheet of so many rows is checked for: each row once for each kind that its mapping has."""
    parts = spec.get("parts")
    return rows * len(parts) if isinstance(parts, dict) else rows


def _part(kind, part, shared):
    if not isinstance(part, dict) or not isinstance(part.get("columns"), dict) or not part["columns"]:
        raise SheetError(
            f'The part \'{kind}\' of the mapping is {json.dumps(part)}. Write its columns: {{"columns": {{"code": "Source"}}}}.'
        )
    if wrong := sorted(set(part) - set(KIND_PARTS)):
        raise SheetError(
            f"The part '{kind}' of the mapping has '{wrong[0]}'. A part has {', '.join(KIND_PARTS)}; write anything else beside \"parts\"."
        )
    rows = [shared.get("rows", []), part.get("rows", [])]
    if all(isinstance(conditions, list) for conditions in rows) and any(rows):
        return shared | part | {"rows": [*rows[0], *rows[1]]}
    return shared | part


def allowed_parts(actor, spec):
    """The parts of a mapping, as `sheet_parts` gives them. Raises SheetError where the role may not load one of the kinds."""
    parts = sheet_parts(spec)
    for kind, _part_spec in parts:
        sheet = KINDS[kind]
        if not (actor.may(sheet.action) and actor.may(sheet.edit_action)):
            raise SheetError(
                f"{actor.username} ({actor.role_label}) may not load {sheet.title.lower()}. Leave that kind out, or ask someone who may."
            )
    return parts
