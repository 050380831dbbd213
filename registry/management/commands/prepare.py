import gc

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command
from django.db import OperationalError, connection
from django.utils import timezone

from registry.disk.faults import outside_fault_words
from registry.models import AuditEntry, Person
from registry.selectors.audit.clock import clock_lines


def is_elsewhere():
    """Whether the database is a server of its own, not a file in the data folder."""
    return connection.vendor != "sqlite"


class Command(BaseCommand):
    help = (
        "Bring the database up to date, collect the static files and load the demo if there are no records. "
        "`manage.py start` does this too. It can be run again at any time."
    )

    def add_arguments(self, parser):
        parser.add_argument("--empty", action="store_true", help="load no demo")

    def handle(self, *, empty, **options):
        # what is loaded lasts to the end; the migrations make and drop thousands of classes, and each collection would look through it too
        gc.freeze()
        try:
            call_command("migrate", interactive=False, verbosity=0)
        except OperationalError as error:
            reason = str(error).strip().splitlines()[0]
            words = outside_fault_words(error) or "The database does not answer."
            place = "DATABASE_URL and its server" if is_elsewhere() else settings.DATA_DIR
            raise CommandError(f"{words} Check {place}. It said: {reason}") from error
        for line in clock_lines(timezone.now()):
            self.stdout.write(line.text)
        # pages name style sheets by a hash of their content, which is known only once they are collected
        call_command("collectstatic", interactive=False, verbosity=0)
        if Person.objects.exists():
            self._remind()
        elif empty:
            self.stdout.write("No records yet. Make the first account: python3 manage.py lead USERNAME EMAIL")
        else:
            call_command("demo", stdout=self.stdout)

    def _remind(self):
        """Passwords of the demo are not stored, so a later start can only say how to get new ones."""
        if AuditEntry.objects.filter(verb="person.demo_loaded").exists():
            self.stdout.write("This is the demo. New passwords for its accounts: python3 manage.py demo --passwords")
