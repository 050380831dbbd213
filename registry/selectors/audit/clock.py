"""Whether the clock of the server can be right, beside the moment of the last change that was recorded."""

from datetime import timedelta

from django.utils import timezone

from registry.calc.shared.screen import moment_words
from registry.models import AuditEntry
from registry.selectors.duties.duty_line import Duty

__all__ = ["CLOCK_GRACE", "clock_lines"]

CLOCK_GRACE = timedelta(minutes=10)  # several machines of one installation may differ by as much
QUIET_MOST = timedelta(days=366)  # no programme records nothing for a year: its census is yearly


def clock_lines(now):
    """What Today and a start say when the clock reads earlier than the last change that was recorded, or more than a year later."""
    last = AuditEntry.objects.order_by("-pk").values_list("at", flat=True).first()
    if not last:
        return
    read, recorded = (moment_words(timezone.localtime(moment)) for moment in (now, last))
    if now > last + QUIET_MOST:
        text = f"The clock of the server reads {read}, and nothing was recorded since {recorded}. If it is not that late"
        words = f"{text}, set the clock of the machine before anything is entered: it would have the wrong day."
        yield Duty("odd", words, mine=True, first=True)
    if now < last - CLOCK_GRACE:
        text = f"The clock of the server reads {read}, but the last change was recorded on {recorded}. One of the two is wrong"
        words = f"{text}: set the clock of the machine, or what is entered now has the wrong day."
        yield Duty("odd", words, mine=True, first=True)
