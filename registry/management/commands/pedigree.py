import json
import pathlib
import sys

from django.core.management.base import BaseCommand, CommandError

from registry.calc.pedigree.ancestry import mothers_and_fathers, parents_not_older
from registry.calc.pedigree.expected_shares import UNKNOWN, founder_shares
from registry.calc.pedigree.inbreeding import inbreeding
from registry.calc.pedigree.pedigree import PedigreeError, is_unknown, read_pedigree, tree_name
from registry.calc.pedigree.sexes import read_sexes
from registry.calc.pedigree.spelling import Spellings
from registry.calc.shared.screen import amount_words
from registry.imports.sheets.formats import write_rows
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.table import MAX_BYTES, read_table

# headers in use, compared without regard to capitals, blanks and underscores
USUAL = {
    "id": ("id", "name", "tree", "treeid", "individual", "individualid", "animal", "iid", "code", "tag"),
    "mother": ("mother", "dam", "mid", "mum", "female", "seedparent", "motherid", "damid", "maternal"),
    "father": ("father", "sire", "fid", "dad", "male", "pollenparent", "fatherid", "sireid", "paternal"),
}
SEX_HEADERS = ("sex", "gender")
HEADERS = ("id", "mother", "father", "depth", "inbreeding", "founders", "founder_shares")
FOUNDERS_SHOWN = 12
NAMES_SHOWN = 10


class Command(BaseCommand):
    help = "Read a pedigree (CSV or XLSX: tree, mother, father) and print depth, inbreeding and founder shares. Stores nothing."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file", type=pathlib.Path, metavar="FILE")
        for role, usual in USUAL.items():
            parser.add_argument(f"--{role}", default="", metavar="COLUMN", help=f"column of the {role}; default: {', '.join(usual[:3])} …")
        parser.add_argument(
            "--year", default="", metavar="COLUMN", help="column of the year a tree originated; parents that are not older are named"
        )
        parser.add_argument(
            "--sex", default="", metavar="COLUMN", help="column of the sex (M, F, male, female, or 1 male and 2 female); default: sex"
        )
        parser.add_argument("--separate-sexes", action="store_true", help="name trees that are mother in one row and father in another")
        parser.add_argument("--format", choices=("table", "csv", "json"), default="table", dest="wanted")

    def handle(self, *, file, wanted, **options):
        try:
            table = read_table(self._read(file), file.name)
            columns = _columns(table.headers, options)
            repeated = []
            pedigree = read_pedigree(([row[column] for column in columns] for row in table.rows), table.first_row, repeated)
            sexes = read_sexes(*_sex_cells(table, columns[0], options["sex"]), table.first_row)
            years = _years(table, columns[0], options["year"])
            odd = [*repeated, *_without_row(pedigree), *sexes.problems, *_odd(pedigree, options["separate_sexes"], years, sexes)]
        except PedigreeError as error:
            for problem in error.problems:
                self.stderr.write(problem)
            self.stderr.write(f"{file.name}: not a pedigree. Correct these rows and try again.")
            sys.exit(1)
        except SheetError as error:
            raise CommandError(str(error)) from error
        for line in [*table.notes, *odd]:
            self.stderr.write(line)
        {"table": self._write_table, "csv": self._write_csv, "json": self._write_json}[wanted](list(_results(pedigree)))

    @staticmethod
    def _read(path):
        try:
            if path.stat().st_size > MAX_BYTES:
                raise CommandError(f"{path.name} has more than {MAX_BYTES / 1e6:.0f} MB. Split the file.")
            return path.read_bytes()
        except OSError as error:
            raise CommandError(f"{path} cannot be read: {error.strerror}.") from error

    def _write_table(self, results):
        lines = [[head.replace("_", " ") for head in HEADERS]]
        lines += [[*(str(cell) for cell in row[:4]), f"{row[4]:.6f}", str(row[5]), _words(row[6])] for row in results]
        widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
        for line in lines:
            self.stdout.write("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())
        self.stdout.write(f"\n{amount_words(len(results), 'trees')}. Founders count as unrelated.", ending=" ")
        self.stdout.write(f"Shares are averages to expect, for up to {FOUNDERS_SHOWN} founders.")

    def _write_csv(self, results):
        rows = [(*row[:6], _words(row[6])) for row in results]
        self.stdout.write(write_rows(HEADERS, rows, "csv").decode("utf-8-sig"), ending="")

    def _write_json(self, results):
        rows = [(*row[:6], row[6] and {name: str(share) for name, share in row[6].items()}) for row in results]
        self.stdout.write(json.dumps([dict(zip(HEADERS, row, strict=True)) for row in rows], ensure_ascii=False, indent=1))


def _columns(headers, options):
    """The columns of tree, mother and father: three different ones."""
    found = {}
    for role in USUAL:
        column = _column(headers, role, options[role])
        if column in found:
            words = f"Column '{headers[column]}' is taken as the {found[column]} and as the {role}"
            raise SheetError(f"{words}. Name another with --{role} COLUMN. The file has: {', '.join(headers)}.")
        found[column] = role
    return list(found)


def _given_column(headers, option, given):
    if given not in headers:
        raise SheetError(f"There is no column '{given}' for --{option}. The file has: {', '.join(headers)}.")
    return headers.index(given)


def _years(table, names, given):
    """{tree: year} of the rows whose year is a whole number; a cell that says something else is refused with its row."""
    if not given:
        return {}
    column, years = _given_column(table.headers, "year", given), {}
    for number, row in enumerate(table.rows, start=table.first_row):
        text = tree_name(row[column])
        if not is_unknown(text):
            if not text.isdecimal():
                raise SheetError(f"Row {number}, column '{given}': '{text}' is not a year. Write it in digits, or leave it blank.")
            years[tree_name(row[names])] = int(text)
    return years


def _sex_cells(table, names, given):
    """(header of the sex column, [(tree, cell)]): the column that is named, or else one called sex; "" and none without one."""
    column = _given_column(table.headers, "sex", given) if given else _usual_column(table.headers, SEX_HEADERS)
    if column is None:
        return "", []
    return table.headers[column], [(row[names], row[column]) for row in table.rows]


def _without_row(pedigree):
    """The parents that have no row, and names that may be one tree under two spellings."""
    missing = [name for name, row in zip(pedigree.names, pedigree.rows, strict=True) if not row]
    if missing:
        shown = ", ".join(f"“{name}”" for name in missing[:NAMES_SHOWN])
        more = f" and {len(missing) - NAMES_SHOWN:,} more" if len(missing) > NAMES_SHOWN else ""
        verb = "has no row and counts as a founder" if len(missing) == 1 else "have no row and count as founders"
        yield f"{amount_words(len(missing), 'parents')} {verb}: {shown}{more}."
    for names in Spellings(pedigree.names).alike():
        rows = [pedigree.rows[pedigree.position(name)] for name in names]
        said = [f"“{name}” ({f'row {row}' if row else 'no row'})" for name, row in zip(names, rows, strict=True)]
        trees = amount_words(len(names), "trees")
        yield f"{' and '.join(said)} differ in spelling only and count as {trees}. If they are one, write its name the same way."


def _odd(pedigree, separate_sexes, years, sexes):
    """What is worth a second look, in sentences."""
    yield from sexes.contradictions(pedigree)
    for parent, child in parents_not_older(pedigree, years):
        yield f"“{parent}” ({years[parent]}) is a parent of “{child}” ({years[child]}) and is not older. Look at both years."
    if separate_sexes:
        for name in mothers_and_fathers(pedigree):
            yield f"“{name}” is the mother in one row and the father in another. Check both rows."


def _column(headers, role, given):
    if given:
        return _given_column(headers, role, given)
    found = _usual_column(headers, USUAL[role])
    if found is None:
        raise SheetError(f"No column is known as the {role}. Name it with --{role} COLUMN. The file has: {', '.join(headers)}.")
    return found


def _usual_column(headers, usual):
    plain = ["".join(letter for letter in header.casefold() if letter.isalnum()) for header in headers]
    return next((plain.index(name) for name in usual if name in plain), None)


def _results(pedigree):
    """One row for each tree as HEADERS say, in the order of the file; parents without a row come last. Shares are None beyond twelve."""
    names = [*pedigree.names, ""]  # position -1, the unknown parent, reads the empty name
    coefficients = inbreeding(pedigree)

    of_pair = {}  # full sibs have the same shares
    for place in sorted(range(len(pedigree)), key=lambda place: pedigree.rows[place] or float("inf")):
        mother, father, name = names[pedigree.mothers[place]], names[pedigree.fathers[place]], names[place]
        pair = name if pedigree.is_founder(place) else (mother, father)
        if pair not in of_pair:
            shares = founder_shares(pedigree, name)
            founders = len(shares) - (UNKNOWN in shares)  # no tree can be called so
            of_pair[pair] = founders, shares if founders <= FOUNDERS_SHOWN else None
        yield name, mother, father, pedigree.depths[place], float(coefficients[place]), *of_pair[pair]


def _words(shares):
    return "" if shares is None else ", ".join(f"{name} {share}" for name, share in shares.items())
