"""What the people under a paper were trained in, and which cautions they said they had read."""

import datetime

from registry.choices import DutyKind
from registry.models import CautionSeen, Duty
from registry.selectors.duties.dates import duty_dates, with_done

__all__ = ["cautions_seen", "training_dates"]


def training_dates(people, on):
    """((duty, status), …) of the training of these people that was due by a day, or done before: two queries."""
    duties = with_done(Duty.objects.filter(kind=DutyKind.TRAINING, responsible__in=people)).order_by("responsible__username", "code")
    dates = [(duty, status) for duty in duties for status in duty_dates(duty, on, on + datetime.timedelta(days=duty.lead_days))]
    return tuple(dates)


def cautions_seen(people):
    """The CautionSeen of these people, in the order they read them. One query."""
    return tuple(CautionSeen.objects.filter(person__in=people).select_related("person").order_by("seen_at", "pk"))
