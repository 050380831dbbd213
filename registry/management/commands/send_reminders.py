import sys

from django.core.management.base import BaseCommand

from registry.management.read_day import read_day
from registry.services.duties.reminders import reminders_send, week_of


class Command(BaseCommand):
    help = "Send everybody the weekly mail of what is overdue and coming. Safe to run again: each person gets one mail a week."

    def add_arguments(self, parser):
        parser.add_argument("--on", metavar="DATE", help="for the week of this day, such as 2026-10-12; default: today")

    def handle(self, *, on, **options):
        day = read_day(on)
        outcomes = reminders_send(on=day)
        count = {
            state: sum(outcome.state == state for outcome in outcomes) for state in ("sent", "sent before", "nothing to say", "failed")
        }
        self.stdout.write(f"{week_of(day)}: " + ", ".join(f"{number} {state}" for state, number in count.items()) + ".")
        for outcome in outcomes:
            if outcome.error:
                self.stderr.write(f"The mail to {outcome.person} ({outcome.person.email}) was not sent: {outcome.error}")
        if count["failed"]:
            self.stderr.write("Look at the EMAIL_… settings and run the command again: who has the mail does not get it twice.")
            sys.exit(1)
