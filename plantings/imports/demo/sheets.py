"""The sheets of the demo as files: what its generator makes and what is shipped for every programme, with the headers of the templates."""

import csv
import io
from dataclasses import dataclass

from django.conf import settings

from plantings.calc.census.own_measurements import own_measurement, read_classes
from plantings.imports.census import CensusSheet
from plantings.imports.demo.programme.rows import SEED, demo_rows
from plantings.imports.demo.programme.standards import measurements
from plantings.imports.kinds import KINDS

__all__ = ["DemoSheet", "demo_sheets", "sheet_csv", "sheets_write"]

_SHIPPED = {
    "caution": (settings.BASE_DIR / "fixtures" / "starter" / "cautions.csv", ""),
    "handbook": (settings.BASE_DIR / "fixtures" / "handbook" / "species.csv", "Juglans"),
}


@dataclass(frozen=True, slots=True)
class DemoSheet:
    """One CSV file: its name, the kind of sheet, whether it came in later than the others, its bytes."""

    name: str
    kind: str
    is_late: bool
    content: bytes


def demo_sheets(seed=SEED):
    """Every sheet of the demo, in the order they are loaded; the number in front of a name is its turn."""
    sheets = []
    for number, (name, rows) in enumerate(demo_rows(seed), start=1):
        kind = name.removesuffix("_late")
        content = _as_csv(kind, [*_shipped_rows(kind), *rows])
        sheets.append(DemoSheet(f"{number:02d}_{name}.csv", kind, kind != name, content))
    return sheets


def sheets_write(folder):
    """Write the sheets into a folder. Raises FileExistsError, before anything is written, when one of them is there already."""
    sheets = demo_sheets()
    there = [sheet.name for sheet in sheets if (folder / sheet.name).exists()]
    if there:
        raise FileExistsError(there[0])
    folder.mkdir(parents=True, exist_ok=True)
    for sheet in sheets:
        (folder / sheet.name).write_bytes(sheet.content)
    return sheets


def _as_csv(kind, rows):
    sheet = KINDS[kind]
    if kind == CensusSheet.kind:
        english = [{name: value for name, value in row.items() if not name.endswith("_fr")} for row in measurements()]
        own = [row | {"classes": [(code, words) for code, words, _meaning in read_classes(row["classes"])]} for row in english]
        sheet = sheet.asking([own_measurement(**row) for row in own])
    return sheet_csv(sheet, rows)


def sheet_csv(sheet, rows):
    """The bytes of a CSV file with the columns of this kind of sheet; a row is {field: cell}."""
    fields = sheet.sheet_fields()
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, list(fields), lineterminator="\n")
    writer.writerow({name: field.column_name for name, field in fields.items()})
    writer.writerows(rows)
    return file.getvalue().encode()


def _shipped_rows(kind):
    """Rows every programme can load, by the names of their fields; of the handbook only the genus of the demo."""
    if kind not in _SHIPPED:
        return []
    path, start = _SHIPPED[kind]
    names = {field.column_name: name for name, field in KINDS[kind].sheet_fields().items()}
    with path.open(encoding="utf-8", newline="") as file:
        rows = [{names[header]: cell for header, cell in row.items()} for row in csv.DictReader(file)]
    return [row for row in rows if next(iter(row.values())).startswith(start)]
