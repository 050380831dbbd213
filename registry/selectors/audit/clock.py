"""Whether the clock of the server can be right: it was earlier when the last change was recorded."""

from datetime import timedelta

from django.utils import timezone

from registry.calc.shared.screen import moment_words
from registry.models import AuditEntry
from registry.selectors.duties.duty_line import Duty

__all__ = ["CLOCK_GRACE", "clock_lines"]

CLOCK_GRACE = timedelta(minutes=10)  # several machines of one installation may differ by as much


def clock_lines(now):
    """What Today says when the clock reads earlier than the last change that was recorded."""
    last = AuditEntry.objects.order_by("-pk").values_list("at", flat=True).first()
    if last and now < last - CLOCK_GRACE:
        read, recorded = (moment_words(timezone.localtime(moment)) for moment in (now, last))
        text = f"The clock of the server reads {read}, but the last change was recorded on {recorded}. One of the two is wrong"
        yield Duty("late", f"{text}: set the clock of the machine, or what is entered now has the wrong day.")
