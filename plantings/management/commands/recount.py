import sys

from django.core.management.base import BaseCommand, CommandError

from plantings.management.printing import FORMATS, print_table
from plantings.selectors.census.recount import recount_differences
from plantings.services.census.tallies import tallies_correct
from registry.calc.shared.screen import amount_words
from registry.models import Person
from registry.selectors.people.acting import acting_person


class Command(BaseCommand):
    help = "Count every balance, tally and last fate again and compare with what is stored. Exit code 1 on any difference."

    def add_arguments(self, parser):
        parser.add_argument("--correct", action="store_true", help="store the recounted tallies and fates of plantings where they differ")
        parser.add_argument("--as", dest="person", help="with --correct, sign-in name of the person who corrects; default: the first lead")
        parser.add_argument("--format", choices=FORMATS, default="table")

    def handle(self, *, format, correct=False, person=None, **options):
        if correct:
            try:
                codes = tallies_correct(actor=acting_person(person))
            except Person.DoesNotExist as error:
                raise CommandError(str(error)) from error
            corrected = ", ".join(codes) or "none"
            self.stderr.write(f"{amount_words(len(codes), 'plantings')} corrected: {corrected}.")
        checked, differences = recount_differences()
        if differences or format != "table":
            print_table(self.stdout, ["record", "stored", "recounted"], differences, format)
        # on standard error, so that what a machine reads holds the differences alone
        looked_at = ", ".join(amount_words(count, name) for name, count in checked.items())
        self.stderr.write(f"{looked_at} checked: {amount_words(len(differences), 'differences')}.")
        if differences:
            sys.exit(1)
