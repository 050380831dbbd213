"""An incident's clocks and notices, for the tests of incidents and of their pages."""

import datetime
from datetime import UTC

from registry.models import Incident, ReportingClock
from registry.selectors.duties.incidents import incident_clocks, with_clocks
from registry.services.duties.incidents import incident_notice_enter
from tests import factories


def utc(*parts):
    return datetime.datetime(*parts, tzinfo=UTC)


FRIDAY = utc(2026, 10, 9, 21, 0)  # 9 Oct 2026, 17:00 in New York


def clock(paper, amount=24, unit="hours", **fields):
    fields = {"title": f"report {factories.number()}", "tell": "Example office"} | fields
    return ReportingClock.objects.create(authorization=paper, amount=amount, unit=unit, **fields)


def states(incident, now=FRIDAY):
    return incident_clocks(with_clocks(Incident.objects.filter(pk=incident.pk)).get(), now)


def tell(incident, told_at, clocks=(), **fields):
    fields = {"told_whom": "Example office, duty officer", "how": "by phone", "told_by": "A. Caller"} | fields
    return incident_notice_enter(actor=factories.person(), incident=incident, told_at=told_at, clocks=clocks, **fields)
