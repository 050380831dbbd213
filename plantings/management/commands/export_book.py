from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from plantings.exports.book import FolderTaken, book_export
from registry.calc.shared.screen import amount_words
from registry.disk.whole_files import full_or_read_only
from registry.management.progress_lines import ProgressLines
from registry.models import Person
from registry.selectors.people.acting import acting_person
from registry.services.audit.book_load import book_export_record
from registry.services.shared.progress import listening


class Command(BaseCommand):
    help = (
        "Write all records into a new folder that anybody can read without Mastbook: CSV tables with a description, a GeoPackage of the "
        "places, the files that people sent, a README and a list of hashes. manage.py import_book reads it into an empty installation."
    )

    def add_arguments(self, parser):
        parser.add_argument("path", type=Path, metavar="FOLDER", help="the new folder")
        parser.add_argument("--as", dest="person", help="sign-in name of the person who exports; default: the first lead")

    def handle(self, *, path, person, **options):
        try:
            actor = acting_person(person)
            lines = ProgressLines(self.stderr)
            with listening(lines):
                done = book_export(path)
            lines.end()
        except (FolderTaken, Person.DoesNotExist) as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            raise CommandError(f"Nothing was written: {full_or_read_only(error) or error.strerror} ({error.filename or path}).") from error
        book_export_record(actor=actor, folder=path.name, rows=done.rows, sha256=done.sha256)
        rows, tables, files = (amount_words(*counted) for counted in ((done.rows, "rows"), (done.tables, "tables"), (done.files, "files")))
        self.stdout.write(f"{path}: {rows} in {tables}, {files} from uploads. SHA-256 of its list of hashes: {done.sha256}")
        self.stdout.write("It is not encrypted, and holds contacts and exact places: store it safely.")
        if done.missing:
            listed = "; ".join(done.missing[:5])
            raise CommandError(f"{amount_words(len(done.missing), 'files')} of records were gone or changed, and are not in it: {listed}")
