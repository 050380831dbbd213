import time
from dataclasses import fields
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from plantings.imports.demo.simulated.rows import truth_write
from plantings.imports.demo.simulated.sheets import simulated_load, simulated_sheets
from plantings.imports.demo.simulated.truth import Size, Wrong, draw_truth
from plantings.selectors.overview.demo import records_found
from registry.calc.shared.screen import amount_words
from registry.imports.sheets.plan import SheetRefused, grouped
from registry.models import Person

_SIZES = {
    "sites": "number of sites", "plantings": "number of plantings, shared out over the sites", "lineages": "number of lineages under test",
    "lots": "number of lots under test, shared out over the lineages", "entries": "lots under test in each planting, drawn from all lots",
    "trees": "trees in each planting, checks among them", "rounds": "yearly rounds in each planting",
}  # fmt: skip
_WRONG = {
    "lineage_sd": "how unlike the lineages are (standard deviation on the log of the hazard)", "site_sd": "how unlike the sites are",
    "interaction_sd": "how unlike a lineage does on other sites", "frailty_sd": "how unlike the trees of a lineage on a site are",
    "missing": "share of visits at which a living tree is not found", "vanishing": "share of the dead of which nothing is left",
    "unlocated": "share of visits at which the position of a living tree is not located", "unlocated_dead": "the same of a dead tree",
    "growth_sd": "how unlike lineages, and sites, grow, as a share of a season's growth",
    "pressure_sd": "how unlike the canker of the sites is (standard deviation on the logit of its chance)",
    "errors": "share of visits at which alive is written for dead, or dead for alive", "late": "share of the records that come in later",
}  # fmt: skip


class Command(BaseCommand):
    help = (
        "Make an invented programme of any size whose truth is known: its sheets as CSV files, and the truth beside them. For trying out "
        "numbers and for timing; --load stores the sheets in an empty installation."
    )

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path, metavar="FOLDER", help="a new folder for the sheets and truth.csv")
        parser.add_argument("--seed", type=int, default=1, help="another number makes another programme (default 1)")
        parser.add_argument("--load", action="store_true", help="load the sheets too; only into an empty installation")
        for declared, words in ((Size, _SIZES), (Wrong, _WRONG)):
            for field in fields(declared):
                option = f"--{field.name.replace('_', '-')}"
                parser.add_argument(option, type=field.type, default=field.default, help=f"{words[field.name]} (default {field.default})")

    def handle(self, *, folder, seed, load, verbosity, **options):
        if seed < 0:
            raise CommandError(f"The seed is {seed}. Give 0 or a larger number.")
        try:
            truth = draw_truth(*(made(**{field.name: options[field.name] for field in fields(made)}) for made in (Size, Wrong)), seed)
        except ValueError as error:
            raise CommandError(f"{error} Nothing was written.") from error
        if load:
            self._refuse_full()
        sheets = self._written(folder, truth, seed)
        if load:
            self._load(sheets, verbosity)
        else:
            count = sum(1 for _sheet in sheets)
            self.stdout.write(f"{amount_words(count, 'sheets')} are written into {folder}, numbered in the order they are loaded.")
        self.stdout.write("truth.csv says what is true of each lineage. Everything here is invented.")

    @staticmethod
    def _refuse_full():
        if Person._meta.db_table not in connection.introspection.table_names():
            raise CommandError("The database has no tables yet. Run first: manage.py migrate")
        if found := records_found():
            shown = ", ".join(f"{count:,} {name}" for name, count in list(found.items())[:3])
            raise CommandError(
                f"Mastbook already has records here ({shown}), and a simulated programme is only loaded into an empty one. Nothing was "
                "changed. For one beside it, set MASTBOOK_DATA_DIR to a new folder, run migrate, then simulate."
            )

    @staticmethod
    def _written(folder, truth, seed):
        """Write one sheet after the other and give each back."""
        try:
            folder.mkdir(parents=True)
            truth_write(folder / "truth.csv", truth, seed)
        except FileExistsError as error:
            raise CommandError(f"{folder} is already there. Nothing was written. Name another folder.") from error
        except OSError as error:
            raise CommandError(f"{folder} cannot be made: {error.strerror}.") from error
        return (_write(folder, sheet) for sheet in simulated_sheets(truth, seed))

    def _load(self, sheets, verbosity):
        began, rows, count = time.monotonic(), 0, 0
        try:
            for sheet, plan in simulated_load(sheets):
                rows, count = rows + plan.rows, count + 1
                if verbosity > 1:
                    self.stdout.write(f"{sheet.name}: {plan.summary()} ({time.monotonic() - began:.0f} s)")
                    for line in grouped(plan.warnings):
                        self.stderr.write(f"warning: {line}")
        except SheetRefused as refused:
            for problem in refused.plan.problems[:10]:
                self.stderr.write(str(problem))
            raise CommandError(f"A sheet could not be loaded; those before it are stored. {refused}") from refused
        self.stdout.write(f"{amount_words(count, 'sheets')} with {amount_words(rows, 'rows')} are loaded. To sign in: demo --passwords")


def _write(folder, sheet):
    try:
        (folder / sheet.name).write_bytes(sheet.content)
    except OSError as error:
        raise CommandError(f"{folder / sheet.name} cannot be written: {error.strerror}.") from error
    return sheet
