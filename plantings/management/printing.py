"""How commands print a table: for eyes, as CSV, or as JSON."""

import csv
import json

FORMATS = ("table", "csv", "json")


def print_table(stdout, headers, rows, wanted):
    if wanted == "json":
        stdout.write(json.dumps([dict(zip(headers, row, strict=True)) for row in rows], ensure_ascii=False, indent=1, default=str))
    elif wanted == "csv":
        writer = csv.writer(stdout, lineterminator="\n")
        writer.writerow(headers)
        writer.writerows(rows)
    else:
        _print_columns(stdout, headers, [["" if cell is None else str(cell) for cell in row] for row in rows])


def _print_columns(stdout, headers, rows):
    widths = [max(len(cell) for cell in column) for column in zip(headers, *rows, strict=True)]
    for line in (headers, ["-" * width for width in widths], *rows):
        stdout.write("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())
