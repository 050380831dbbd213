from datetime import datetime
from pathlib import Path

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from registry.calc.shared.screen import amount_words, moment_words
from registry.disk.whole_files import full_or_read_only
from registry.services.audit.backup_key import KeyFault, secret_keys
from registry.services.audit.restore import RestoreRefused, backup_restore
from registry.services.jobs.jobs import RESTORED, jobs_stop


class Command(BaseCommand):
    help = (
        "Put a backup into an empty place: an empty MASTBOOK_DATA_DIR, and with PostgreSQL an empty database. Checks every hash first, "
        "then stores all of it, and ends with recount and verify. Exit code 1 when either finds anything."
    )
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser):
        parser.add_argument("path", type=Path, metavar="FILE")
        parser.add_argument("--key-file", type=Path, metavar="KEYFILE", help="the secret key of an encrypted backup")

    def handle(self, *, path, key_file, **options):
        try:
            restored = backup_restore(path=path, keys=secret_keys(key_file.read_text()) if key_file else ())
        except (RestoreRefused, KeyFault) as error:
            raise CommandError(str(error)) from error
        except (OSError, UnicodeDecodeError) as error:
            why = full_or_read_only(error) or error.strerror if isinstance(error, OSError) else "the key file is not text"
            raise CommandError(f"Nothing was restored: {why} ({getattr(error, 'filename', None) or path}).") from error
        call_command("migrate", interactive=False, verbosity=0)
        jobs_stop(RESTORED)
        manifest = restored.manifest
        made = timezone.localtime(datetime.fromisoformat(manifest["made_at"]))
        self.stdout.write(f"Restored the backup of {moment_words(made)}, with {amount_words(restored.files, 'files')} from uploads.")
        if manifest["variables"]:
            self.stdout.write(f"The installation backed up had these variables set. Set them here too: {', '.join(manifest['variables'])}")
        wrong = [name for name in ("recount", "verify") if not self._passes(name, manifest)]
        if wrong:
            raise CommandError(
                f"{' and '.join(wrong)} found faults, see above. They were in the backup: its hashes are right.", returncode=1
            )

    def _passes(self, name, manifest):
        head = manifest["database"]["head"]["sha256"]
        options = {"head": head} if name == "verify" and head else {}
        try:
            call_command(name, stdout=self.stdout, stderr=self.stderr, **options)
        except SystemExit:
            return False
        return True
