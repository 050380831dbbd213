"""Ratings: all readings of an orchard day at once, a single one, a correction; and the rating scales."""

from dataclasses import dataclass
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.orchard.ratings import Scale, score_problem
from registry.calc.shared.part_dates import SomeDate, surely_before
from registry.models import PedigreeTree, Rating, RatingScale
from registry.services.audit.trail import append_row, append_rows, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check
from registry.services.shared.records import record_save

__all__ = ["RatingDay", "Reading", "rating_correct", "rating_scale_save", "ratings_enter", "reading_problems"]


@dataclass(frozen=True, slots=True)
class RatingDay:
    """What the readings of one day share. `strain` may be blank."""

    scale: RatingScale
    rated_on: SomeDate
    method: str
    rater: str
    strain: str = ""
    inoculated_on: SomeDate | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """The reading of one tree: a score, the size of the canker in mm, or both."""

    tree: PedigreeTree
    score: Decimal | None = None
    canker_length_mm: float | None = None
    canker_width_mm: float | None = None
    note: str = ""


def reading_problems(day, reading):
    """What is wrong with one reading: a list of (field, message), empty when it can be stored."""
    tree, problems = reading.tree, []
    if reading.score is None and reading.canker_length_mm is None:
        problems.append(("score", "Give a score or a canker length."))
    elif reading.score is not None:
        scale = Scale(day.scale.lowest, day.scale.highest, day.scale.step)
        if problem := score_problem(reading.score, scale):
            problems.append(("score", problem))
    if reading.canker_width_mm is not None and reading.canker_length_mm is None:
        problems.append(("canker_length_mm", "There is a width without a length. Give the length too."))
    if tree.planted_year and day.rated_on.year < tree.planted_year:
        problems.append(("tree", f"It was planted in {tree.planted_year}, after this day. Check the tree and the day."))
    return problems


@write
def ratings_enter(*, actor, day, readings):
    """Store the readings of one day, all or none.

    Parameters
    ----------
    actor : Person
    day : RatingDay
    readings : list of Reading

    Raises
    ------
    django.core.exceptions.ValidationError
        With one message for each thing that is wrong, naming the tree; or naming the field of the day.
    """
    if not readings:
        raise ValidationError("Nothing is rated yet. Enter at least one score or canker length.")
    day_check(rated_on=day.rated_on)
    if day.inoculated_on and surely_before(day.rated_on, day.inoculated_on):
        raise ValidationError({"inoculated_on": "The trees were inoculated after they were rated. Check both days."})
    problems = [f"{reading.tree.code}: {message}" for reading in readings for _field, message in reading_problems(day, reading)]
    problems += _repeated(day, [reading.tree for reading in readings])
    if problems:
        raise ValidationError(problems)
    now = timezone.now()
    records = [_record(actor, now, day, reading) for reading in readings]
    for record in records:
        record.full_clean(exclude=["tree", "scale", "entered_by"])  # they were looked up; a query for each would be three a tree
    append_rows(records)
    for record in records:
        audit_record(actor=actor, verb="rating.added", obj=record)
    return records


def _record(actor, now, day, reading):
    return Rating(
        tree=reading.tree, scale=day.scale, rated_on=day.rated_on, score=reading.score, method=day.method, strain=day.strain.strip(),
        inoculated_on=day.inoculated_on, canker_length_mm=reading.canker_length_mm, canker_width_mm=reading.canker_width_mm,
        rater=day.rater.strip(), note=reading.note.strip(), entered_by=actor, entered_at=now,
    )  # fmt: skip


def _repeated(day, trees, leave_out=None):
    """A tree that is named twice, or was rated that day already: one of the two readings would be overlooked."""
    problems, seen = [], set()
    for tree in trees:
        if tree.pk in seen:
            problems.append(f"{tree.code}: it is listed twice among these readings. Remove one of them.")
        seen.add(tree.pk)
    stored = Rating.objects.filter(
        tree__in=seen, scale=day.scale, rated_on=day.rated_on, method=day.method, strain__iexact=day.strain.strip(), superseded_by=None
    )
    codes = stored.exclude(pk=leave_out).order_by("tree__code").values_list("tree__code", flat=True)
    return problems + [
        f"{code}: it already has a rating for that day, scale, method and strain. Correct that rating instead." for code in codes
    ]


@write
def rating_correct(*, actor, rating, day, reading, reason):
    """Replace a wrong rating by a new one; the old one stays on record.

    Raises ValidationError, as `ratings_enter`, and when the rating was corrected before or no reason is given.
    """
    PedigreeTree.objects.select_for_update().get(pk=rating.tree_id)
    if Rating.objects.filter(supersedes=rating).exists():
        raise ValidationError("This rating was corrected before. Correct the newer one.")
    if not reason.strip():
        raise ValidationError({"reason": "Say why it is corrected."})
    day_check(rated_on=day.rated_on)
    problems = reading_problems(day, reading)
    if problems:
        raise ValidationError(dict(problems))
    if repeated := _repeated(day, [reading.tree], leave_out=rating.pk):
        raise ValidationError(repeated)
    record = _record(actor, timezone.now(), day, reading)
    record.supersedes, record.reason = rating, reason.strip()
    record.full_clean()
    append_row(record)
    audit_record(actor=actor, verb="rating.corrected", obj=record, changes=_corrections(rating, record), reason=record.reason)
    return record


_CORRECTED = (
    "tree", "scale", "rated_on", "score", "method", "strain", "inoculated_on", "canker_length_mm", "canker_width_mm", "rater", "note"
)  # fmt: skip


def _corrections(old, new):
    pairs = {name: (getattr(old, name), getattr(new, name)) for name in _CORRECTED}
    return {name: [None if value is None else str(value) for value in pair] for name, pair in pairs.items() if pair[0] != pair[1]}


@write
def rating_scale_save(*, actor, scale):
    """Add a scale, or change one that has no ratings yet.

    Raises ValidationError when ratings use it: their scores would change their meaning. A changed scale is a new version.
    """
    if scale.pk and Rating.objects.filter(scale=scale.pk).exists():
        raise ValidationError("Trees are rated on this scale. Add a new version of it; the old scores keep their meaning.")
    if None not in (scale.lowest, scale.highest, scale.step) and scale.step > 0 and (scale.highest - scale.lowest) % scale.step:
        raise ValidationError({"step": "Steps of this size do not lead from the lowest to the highest score. Check the three numbers."})
    return record_save(actor=actor, obj=scale)
