"""Lines of Today about loads whose wrong rows were set aside and have not come yet."""

from django.urls import reverse
from django.utils import timezone

from registry.access import roles
from registry.calc.shared.screen import amount_words, day_words
from registry.selectors.duties.duty_line import Duty
from registry.selectors.loads.loads import loads_with_rows_out

__all__ = ["rest_lines"]


def rest_lines(user):
    """Loads with rows still out: those of this person, and for a lead those of everybody. One query."""
    loads = loads_with_rows_out(user)
    for load in loads if user.role == roles.LEAD else loads.filter(entered_by=user):
        own = load.entered_by_id == user.pk
        day = day_words(timezone.localdate(load.entered_at))
        text = f"{amount_words(load.rows_out, 'rows')} of {load.filename}, loaded on {day}, still to correct. Send the corrected rest"
        yield Duty("odd", text, None, reverse("load_detail", args=[load.pk]), "" if own else str(load.entered_by), mine=own)
