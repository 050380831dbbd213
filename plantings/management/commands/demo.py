from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from plantings.imports.demo.loading import demo_load
from plantings.imports.demo.sheets import sheets_write
from plantings.selectors.overview.demo import records_found
from plantings.services.demo_phrases import demo_phrases_set
from registry.calc.shared.screen import amount_words
from registry.imports.sheets.plan import SheetRefused
from registry.models import Person


class Command(BaseCommand):
    help = "Load the invented demo programme into an empty installation and print one account for each role."

    def add_arguments(self, parser):
        only = parser.add_mutually_exclusive_group()
        only.add_argument("--passwords", action="store_true", help="load nothing; make and print new passwords for the demo accounts")
        only.add_argument("--write", type=Path, metavar="FOLDER", help="load nothing; write the demo's sheets into FOLDER as CSV files")

    def handle(self, *, passwords, write, verbosity, **options):
        if write:
            return self._write(write)
        if Person._meta.db_table not in connection.introspection.table_names():
            raise CommandError("The database has no tables yet. Run first: manage.py migrate")
        if not passwords:
            self._load(verbosity)
        self._print_accounts()

    def _write(self, folder):
        try:
            sheets = sheets_write(folder)
        except FileExistsError as error:
            raise CommandError(f"{error} is already in {folder}. Nothing was written. Name another folder.") from error
        except OSError as error:
            raise CommandError(f"The sheets cannot be written into {folder}: {error.strerror}.") from error
        self.stdout.write(f"{amount_words(len(sheets), 'sheets')} are written into {folder}, numbered in the order they are loaded.")

    def _print_accounts(self):
        phrases = demo_phrases_set()
        if not phrases:
            raise CommandError(
                "These records were not made by the demo, so no password is changed. Passwords are reset by mail from the sign-in page."
            )
        rows = [("Role", "Sign-in name", "Password"), *((person.role_label, person.username, phrase) for person, phrase in phrases)]
        for role, username, phrase in rows:
            self.stdout.write(f"{role:<28}{username:<20}{phrase}")
        self.stdout.write("The passwords are shown only now. New ones: manage.py demo --passwords")

    def _load(self, verbosity):
        found = records_found()
        if found:
            shown = ", ".join(f"{count:,} {name}" for name, count in list(found.items())[:3])
            raise CommandError(
                f"Mastbook already has records here ({shown}), and the demo is only loaded into an empty one. Nothing was changed. "
                "For a demo beside it, set MASTBOOK_DATA_DIR to a new folder, run migrate, then demo."
            )
        try:
            plans = demo_load()
        except SheetRefused as refused:
            raise CommandError(f"The demo could not be loaded; nothing was stored. {refused}") from refused
        if verbosity > 1:
            for filename, plan in plans.items():
                self.stdout.write(f"{filename}: {plan.summary()}")
        rows = sum(plan.rows for plan in plans.values())
        self.stdout.write(f"The demo is loaded: {amount_words(len(plans), 'sheets')}, {amount_words(rows, 'rows')}.")
        self.stdout.write("People, partners and papers in it are invented, and no paper is law.")
