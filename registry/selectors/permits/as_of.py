"""What a paper says and the state it is in on a day. The record itself repeats the last version and the last state that were
entered, which may hold from a future day; whatever is shown or decided as of today is read here.
"""

import datetime

from django.db.models import F, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce

from registry.calc.shared.screen import day_words
from registry.models import AuthorizationStateRecord, AuthorizationVersion

__all__ = [
    "SAID",
    "announced_lines",
    "end_ahead",
    "last_state",
    "last_version",
    "paper_on",
    "papers_on",
    "state_on",
    "version_on",
    "with_state_on",
]

# What a version says and the paper repeats.
SAID = ("starts_on", "ends_on", "covers", "conditions", "cap_quantity", "cap_unit")


def last_state(records):
    """The last of some state records by their days; of one day the one entered later. None of none."""
    return max(records, key=lambda record: (record.on, record.pk), default=None)


def state_on(records, on):
    """The state record in force at the close of a day; None before the first."""
    return last_state([record for record in records if record.on <= on])


def version_on(versions, on):
    """The version in force on a day: the latest that has begun, the higher number of two of one day; None before the first."""
    begun = [version for version in versions if version.from_on is None or version.from_on <= on]
    return max(begun, key=lambda version: (version.from_on is not None, version.from_on, version.number), default=None)


def last_version(versions):
    """What a paper says in the end: its version by day, whatever was entered later about an earlier day. None of none."""
    return version_on(versions, datetime.date.max)


def papers_on(papers, on):
    """Papers as of a day: state, dates, wording and cap are those in force then. To be shown, never to be saved.

    A paper whose first state is still to come is shown in that one, with its day beside it. Two queries for any number.
    """
    papers = list(papers)
    keys = [paper.pk for paper in papers]
    states, versions = {}, {}
    for found, model in ((states, AuthorizationStateRecord), (versions, AuthorizationVersion)):
        for record in model.objects.filter(authorization__in=keys).order_by("pk"):
            found.setdefault(record.authorization_id, []).append(record)
    for paper in papers:
        history, said = states.get(paper.pk, []), versions.get(paper.pk, [])
        state = state_on(history, on) or min(history, key=lambda record: (record.on, record.pk), default=None)
        version = version_on(said, on) or min(said, key=lambda version: version.number, default=None)
        paper.state = state.state if state else paper.state
        for name in SAID if version else ():
            setattr(paper, name, getattr(version, name))
    return papers


def paper_on(paper, on):
    """One paper as `papers_on` has it."""
    return papers_on([paper], on)[0]


def with_state_on(queryset, on):
    """Papers with `state_then` and `ends_then`, as of a day, and `last_from`, the day from which the last version holds."""
    own = {"authorization": OuterRef("pk")}
    states = AuthorizationStateRecord.objects.filter(**own).order_by("-on", "-pk").values("state")
    first = AuthorizationStateRecord.objects.filter(**own).order_by("on", "pk").values("state")
    begun = Q(from_on__isnull=True) | Q(from_on__lte=on)
    versions = AuthorizationVersion.objects.filter(begun, **own).order_by(F("from_on").desc(nulls_last=True), "-number")
    return queryset.annotate(
        state_then=Coalesce(Subquery(states.filter(on__lte=on)[:1]), Subquery(first[:1]), F("state")),
        ends_then=Subquery(versions.values("ends_on")[:1]),
        last_from=Subquery(
            AuthorizationVersion.objects.filter(**own).order_by(F("from_on").desc(nulls_last=True), "-number").values("from_on")[:1]
        ),
    )


def end_ahead(paper):
    """The day a paper of `with_state_on` ends, or None: that of its last version, unless that one begins only after a gap."""
    if paper.ends_then and paper.last_from and paper.last_from > paper.ends_then + datetime.timedelta(days=1):
        return paper.ends_then
    return paper.ends_on


def announced_lines(states, versions, on):
    """[(day, what)] of the states and amendments of a paper that hold from a future day, the earliest first."""
    coming = [(record.on, f"{record.get_state_display()} from {day_words(record.on)}") for record in states if record.on > on]
    for version in versions:
        if version.from_on and version.from_on > on:
            coming.append((version.from_on, f"Amendment {version.number} from {day_words(version.from_on)}: {version.reason}"))
    return sorted(coming)
