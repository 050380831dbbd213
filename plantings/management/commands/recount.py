import sys

from django.core.management.base import BaseCommand

from plantings.selectors.recount import recount_differences


class Command(BaseCommand):
    help = "Count every balance, tally and last fate afresh and compare with what is kept. Exit code 1 on any difference."

    def handle(self, **options):
        checked, differences = recount_differences()
        for line in differences:
            self.stdout.write(line)
        self.stdout.write(f"{', '.join(f'{count:,} {name}' for name, count in checked.items())} checked: {len(differences)} differences.")
        if differences:
            sys.exit(1)
