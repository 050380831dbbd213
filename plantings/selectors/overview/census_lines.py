"""Lines of Today about census records that came in: to be read by the office, or to be looked at again by the crew."""

from django.urls import reverse
from django.utils.translation import ngettext

from plantings.selectors.census.reviews import review_counts, rounds_waiting
from registry.access import roles
from registry.calc.shared.screen import amount_words
from registry.selectors.duties.duty_line import Duty

__all__ = ["asked_back_lines", "unread_lines"]


def unread_lines(user):
    """Rounds with records that nobody has reviewed. One query."""
    for item in rounds_waiting(user):
        unread, asked = review_counts(item)
        if unread:
            text = f"Census {item.label} at {item.planting.site.name} ({item.planting.code}): {amount_words(unread, 'records')} to review"
            yield Duty("soon", text + (f", {asked:,} asked back" if asked else ""), url=reverse("round_review", args=[item.pk]))


def asked_back_lines(user):
    """What the office asks a crew to look at again. One query; none for others."""
    if user.role not in roles.OWN_ROWS_ONLY:
        return
    for item in rounds_waiting(user):
        asked = review_counts(item)[1]
        if asked:
            words = ngettext(
                "%(n)s record of %(round)s in %(planting)s to look at again", "%(n)s records of %(round)s in %(planting)s to look at again",
                asked,
            )  # fmt: skip
            text = words % {"n": f"{asked:,}", "round": item.label, "planting": item.planting.code}
            yield Duty("soon", text, item.closes_on, f"{reverse('round_detail', args=[item.pk])}#asked-back", mine=True)
