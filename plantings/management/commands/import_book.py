from pathlib import Path

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from registry.calc.shared.screen import amount_words
from registry.disk.whole_files import full_or_read_only
from registry.services.audit.book_folder import BookRefused
from registry.services.audit.book_load import book_load


class Command(BaseCommand):
    help = (
        "Read a folder that manage.py export_book wrote into an empty installation: all of it, or nothing. Ends with recount and verify. "
        "Exit code 1 when either finds anything. Passwords are not in the folder: manage.py changepassword NAME sets one."
    )

    def add_arguments(self, parser):
        parser.add_argument("path", type=Path, metavar="FOLDER")

    def handle(self, *, path, **options):
        call_command("migrate", interactive=False, verbosity=0)
        try:
            done = book_load(path)
        except BookRefused as error:
            raise CommandError(f"Nothing was imported. {error}") from error
        except OSError as error:
            raise CommandError(f"Nothing was imported: {full_or_read_only(error) or error.strerror} ({error.filename or path}).") from error
        self.stdout.write(f"Imported {amount_words(done.rows, 'rows')} and {amount_words(done.files, 'files')}.")
        self.stdout.write("Nobody has a password yet: manage.py changepassword NAME sets one.")
        wrong = [name for name in ("recount", "verify") if not self._passes(name)]
        if wrong:
            raise CommandError(f"{' and '.join(wrong)} found faults, see above. They were in the records that were exported.", returncode=1)

    def _passes(self, name):
        try:
            call_command(name, stdout=self.stdout, stderr=self.stderr)
        except SystemExit:
            return False
        return True
