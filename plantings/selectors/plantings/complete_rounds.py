"""Which round of a planting its lists count from: the last complete one."""

from django.db.models import Exists, ExpressionWrapper, F, IntegerField, OuterRef, Q, Subquery
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone

from plantings.models import RoundProgress
from registry.choices import ProgrammeKey
from registry.models import ProgrammeSetting
from registry.selectors.identity.descent import linked
from registry.selectors.people.programme import DEFAULTS

__all__ = ["complete_parts", "last_counted", "last_not_complete", "not_complete", "parts_not_complete"]


def complete_parts():
    """RoundProgress of complete rounds, the latest first, by the definition of `why_not_complete`. No query of its own."""
    stored = ProgrammeSetting.objects.filter(key=ProgrammeKey.COMPLETE_PERCENT).values(percent=Cast("value", IntegerField()))
    percent = Coalesce(Subquery(stored[:1]), DEFAULTS[ProgrammeKey.COMPLETE_PERCENT][0], output_field=IntegerField())
    seen = ExpressionWrapper((F("assessed") - F("ended")) * 100, IntegerField())
    wanted = ExpressionWrapper((F("countable") - F("ended")) * percent, IntegerField())
    settled = Q(round__closes_on__lt=timezone.localdate()) | Q(unsettled=0)
    complete = RoundProgress.objects.alias(seen=seen, wanted=wanted).filter(settled, seen__gte=F("wanted"))
    return complete.order_by("-round__opens_on", "-round_id")


def parts_not_complete():
    """RoundProgress of rounds that are not results yet: still open, or thinly visited. No query of its own."""
    return RoundProgress.objects.filter(~Exists(complete_parts().order_by().filter(pk=OuterRef("pk"))))


def not_complete(rounds):
    """The keys of those of some rounds whose planted trees or sown seed are not a result yet. One query, none without rounds."""
    return set(parts_not_complete().filter(round__in=rounds).values_list("round_id", flat=True)) if rounds else set()


def last_not_complete(planting):
    """The label of the last round with records of the planted trees of a planting where it is not complete, else None. One query."""
    parts = RoundProgress.objects.filter(round__planting=planting, sown=False).order_by("-round__opens_on", "-round_id")
    found = parts.values_list("round__label", Exists(parts_not_complete().filter(pk=OuterRef("pk")))).first()
    return found[0] if found and found[1] else None


def last_counted(plantings):
    """{(round, whether of sown seed): whether it is complete} of these plantings (a set or dict of keys): of each the last complete round,
    or the last one with records where none is complete."""
    complete = set(linked(complete_parts(), "round__planting", plantings, "pk"))
    rows = linked(RoundProgress.objects, "round__planting", plantings, "round__opens_on", "round", "round__planting", "sown", "pk")
    latest = {}
    for opens_on, round_pk, planting, sown, pk in rows:
        place = (pk in complete, opens_on, round_pk)
        latest[planting, sown] = max(place, latest.get((planting, sown), place))
    return {(round_pk, sown): is_complete for (_planting, sown), (is_complete, _opens_on, round_pk) in latest.items()}
