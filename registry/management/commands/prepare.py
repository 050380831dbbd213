from django.conf import settings
from django.core.management import BaseCommand, call_command

from registry.models import Person


class Command(BaseCommand):
    help = "Bring the database up to date and load the demo into an empty book. Part of `manage.py start`; harmless to repeat."

    def add_arguments(self, parser):
        parser.add_argument("--empty", action="store_true", help="leave an empty book empty")

    def handle(self, *, empty, **options):
        settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # whitenoise warns at every start when it is absent
        call_command("migrate", interactive=False, verbosity=0)
        if Person.objects.exists():
            return
        if empty:
            self.stdout.write("The book is empty. Make the first account: python3 manage.py createsuperuser")
        else:
            call_command("demo", stdout=self.stdout)
