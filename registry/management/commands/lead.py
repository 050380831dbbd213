import secrets

from django.core.management.base import BaseCommand, CommandError

from registry.access import roles
from registry.models import Person
from registry.services.people.people import account_make


class Command(BaseCommand):
    help = "Make the first account of a new installation, with the role of programme lead, and print its password once."

    def add_arguments(self, parser):
        parser.add_argument("username")
        parser.add_argument("email")

    def handle(self, *, username, email, **options):
        if Person.objects.filter(username=username).exists():
            raise CommandError(f"There is an account '{username}' already. Its password is reset by mail from the sign-in page.")
        password = secrets.token_urlsafe(12)
        account_make(username=username, email=email, password=password, role=roles.LEAD)
        self.stdout.write(f"Lead {username} made. Password, shown only now: {password}")
