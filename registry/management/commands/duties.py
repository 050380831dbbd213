from django.core.management.base import BaseCommand, CommandError

from registry.calc.shared.iso import iso_day
from registry.calc.shared.screen import amount_words
from registry.management.read_day import read_day
from registry.models import Duty
from registry.selectors.duties.dates import NOBODY, open_dates, with_done

WITHIN_DAYS = 30


class Command(BaseCommand):
    help = "Print which duties are overdue or due, under which paper, who is responsible and to whom they are escalated."

    def add_arguments(self, parser):
        parser.add_argument("--on", metavar="DATE", help="as of this day, such as 2026-10-12; default: today")
        parser.add_argument(
            "--within", type=int, default=WITHIN_DAYS, metavar="DAYS", help=f"due within this many days; default: {WITHIN_DAYS}"
        )

    def handle(self, *, on, within, **options):
        day = read_day(on)
        if within < 0:
            raise CommandError(f"--within {within} is below 0. Give 0 or more days.")
        dates = open_dates(with_done(Duty.objects.filter(closed_on__isnull=True)), day, within)
        if not dates:
            self.stdout.write(f"Nothing is overdue or due within {amount_words(within, 'days')} of {iso_day(day)}.")
            return
        rows = [("due", "status", "duty", "paper", "what", "who", "told"), *(_row(date) for date in dates)]
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        for row in rows:
            self.stdout.write("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
        overdue = sum(date.is_late for date in dates)
        self.stdout.write(f"\n{overdue} overdue, {len(dates) - overdue} due within {amount_words(within, 'days')}, as of {iso_day(day)}.")


def _row(date):
    duty, days = date.duty, date.status.days_late
    status = f"overdue by {amount_words(days, 'days')}" if date.is_late else "due"
    paper = duty.authorization.code if duty.authorization else "-"
    return f"{iso_day(date.due)}", status, duty.code, paper, duty.title, str(duty.responsible or NOBODY), ", ".join(date.status.told)
