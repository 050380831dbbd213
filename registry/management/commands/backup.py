from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from registry.calc.shared.iso import iso_day
from registry.calc.shared.screen import amount_words
from registry.disk.whole_files import full_or_read_only, write_whole
from registry.models import Person
from registry.selectors.people.acting import acting_person
from registry.services.audit.backup import backup_record, backup_write
from registry.services.audit.backup_key import KeyFault, key_pair, public_key


class Command(BaseCommand):
    help = (
        "Write everything this installation needs to be the same again elsewhere into one file, while it is in use: the database, the "
        "uploaded files and the signing key. The file is complete or absent. Restore it with: manage.py restore FILE"
    )

    def add_arguments(self, parser):
        parser.add_argument("path", type=Path, nargs="?", metavar="FILE", help="the new file, or a folder, which gets one named by the day")
        parser.add_argument("--key", metavar="AGE1…", help="encrypt it for this public key; only the secret key opens it again")
        parser.add_argument(
            "--new-key", type=Path, metavar="KEYFILE", help="make a pair of keys, store the secret one in this file; no backup"
        )
        parser.add_argument("--as", dest="person", help="sign-in name of the person who makes the backup; default: the first lead")

    def handle(self, *, path, key, new_key, person, **options):
        try:
            if new_key:
                self._make_key(new_key)
            elif path:
                self._back_up(path, key, person)
            else:
                raise CommandError("Name the file to write, such as: manage.py backup /mnt/backups/")
        except (KeyFault, Person.DoesNotExist) as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            raise CommandError(f"Nothing was written: {full_or_read_only(error) or error.strerror} ({error.filename or path}).") from error

    def _make_key(self, path):
        if path.exists():
            raise CommandError(f"{path} exists already. Without it earlier backups cannot be read: choose another name.")
        secret, public = key_pair()
        write_whole(path, [f"# public key: {public}\n{secret}\n".encode()], mode=0o600, replace=False)
        self.stdout.write(f"Secret key stored in {path}. Move it off this machine: without it no backup can be read.")
        self.stdout.write(f"Public key, for --key: {public}")

    def _back_up(self, path, key, person):
        actor = acting_person(person)
        if path.is_dir():
            now = timezone.localtime()
            path = path / f"mastbook-{iso_day(now)}-{now.hour:02}{now.minute:02}.zip{'.age' if key else ''}"
        if path.exists():
            raise CommandError(f"{path} exists already. Choose another name.")
        made = backup_write(path=path, key=public_key(key) if key else None)
        backup_record(actor=actor, backup=made, filename=path.name)
        files = amount_words(made.files, "files")
        self.stdout.write(f"{path}: {made.size_bytes / 1e6:,.1f} MB, with {files} from uploads. SHA-256 {made.sha256}")
        if not key:
            self.stdout.write("It is not encrypted: whoever reads it reads all records. Give a public key with --key, or store it safely.")
