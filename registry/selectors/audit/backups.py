"""When the last backup was made, for Today."""

from registry.calc.shared.screen import amount_words, day_words
from registry.models import AuditEntry
from registry.selectors.duties.duty_line import Duty

__all__ = ["BACKUP_MADE", "BACKUP_OLD_DAYS", "backup_line", "last_backup"]

BACKUP_MADE = "audithead.backed_up"  # the verb of the audit entry that records one
BACKUP_OLD_DAYS = 8  # a weekly backup and a day of grace: common practice, no source


def last_backup():
    """The moment of the last backup that is recorded, or None."""
    return AuditEntry.objects.filter(record_type="audithead", verb=BACKUP_MADE).order_by("-pk").values_list("at", flat=True).first()


def backup_line(on, at):
    """What Today says of the last backup, made at a moment in local time or never."""
    how = "Make one with manage.py backup FILE and store it on another machine: the README says how."
    if at is None:
        return Duty("odd", f"No backup is recorded. {how}")
    days = (on - at.date()).days
    if days > BACKUP_OLD_DAYS:
        return Duty("late", f"The last backup was made on {day_words(at)}, {amount_words(days, 'days')} ago. {how}", mine=True)
    return Duty("info", f"The last backup was made on {day_words(at)}.")
