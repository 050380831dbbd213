"""Blind second measurements: a sample of a round is drawn, a second person measures its trees again, the lead closes what nobody reached.

Second measurements are rows of their own. No tally, no survival figure and no list of census records reads them.
"""

import secrets
from dataclasses import replace
from uuid import uuid4

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext, gettext_noop

from plantings.calc.arrival.draw import sample_size, walk_draw
from plantings.calc.census.codes import CAUSES_BY_STATUS, NOT_VISITED
from plantings.calc.census.measurements import ERROR, FIELDS
from plantings.calc.results import Finding
from plantings.models import CensusRound, Planting, SecondDraw, SecondMeasurement, SecondTree
from plantings.selectors.census.asked import asked_at
from plantings.selectors.census.second import drawable, may_correct_second, observer_fault, recorded_values
from plantings.services.census.checks import row_findings
from plantings.services.census.observations import CensusRefused, CensusRow, as_stored
from registry.calc.shared.screen import amount_words
from registry.services.audit.trail import append_row, append_rows, audit_record
from registry.services.audit.write import write

__all__ = ["row_of", "second_draw_close", "second_draw_make", "second_measurement_correct", "second_measurements_record"]

_STRANGER = gettext_noop("This tree is not among the drawn ones.")
_TWICE = gettext_noop("This tree was measured again already. Correct that record.")


@write
def second_draw_make(*, actor, census_round, percent=None, count=None, measurer=None, measured_by="", seed=""):
    """Draw trees of a round for a second person: a share of its records in percent, or a count of trees.

    `measurer` is the account of the second person, if they have one: they enter what they measure, and do not see the first records.
    `seed` is made here, unless somebody repeats a draw.
    """
    measured_by = measured_by.strip() or (str(measurer) if measurer else "")
    if not measured_by:
        raise ValidationError({"measured_by": "Say who measures the trees again."})
    if (percent is None) == (count is None):
        raise ValidationError({"percent": "Give a share, or a number of trees, and not both."})
    planting = Planting.objects.select_for_update().get(pk=census_round.planting_id)  # nobody records here meanwhile
    if measurer and not planting.crew.filter(pk=measurer.pk).exists():
        raise ValidationError({"measurer": f"{measurer} is not on the crew of {planting}. Add them to the crew first."})
    first = drawable(census_round, measured_by)
    if not first:
        raise ValidationError(f"{census_round} has no record by somebody else that was not drawn before. Nothing can be measured again.")
    if count is not None and not 1 <= count <= len(first):
        there = amount_words(len(first), "trees")
        raise ValidationError({"count": f"{there} can be drawn: those that somebody else recorded and that were not drawn before."})
    size = sample_size(len(first), percent) if count is None else count
    tags = [record.tree.tag for record in first]
    earlier = SecondDraw.objects.filter(round=census_round).count()
    draw = SecondDraw(
        round=census_round, number=earlier + 1, drawn_on=timezone.localdate(), measured_by=measured_by, measurer=measurer,
        seed=seed or secrets.token_hex(8), size=size, candidates=tags, entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    draw.full_clean()
    append_row(draw)
    drawn = {one.tag for one in walk_draw(tags, size, draw.seed) if one.drawn}
    append_rows([SecondTree(draw=draw, tree=record.tree, first=record) for record in first if record.tree.tag in drawn])
    audit_record(actor=actor, verb="seconddraw.sample_drawn", obj=draw, changes={"trees": [None, size], "seed": [None, draw.seed]})
    return draw


@write
def second_measurements_record(*, actor, draw, rows):
    """Store second measurements of drawn trees, all or none; returns how many. A row whose `uuid` is stored already is passed over.

    Raises CensusRefused. The rules of a row are those of the census; besides, the observer must be another than the first, and a tree
    is measured again once.
    """
    _lock(draw)
    known = set(SecondMeasurement.objects.filter(uuid__in=[row.uuid for row in rows]).values_list("uuid", flat=True))
    trees = _trees_of(draw)
    problems, new, measured = {}, [], {tree for tree, drawn in trees.items() if drawn.is_measured}
    for number, row in enumerate(rows):
        if row.uuid in known:
            continue
        new.append(row)
        found = _findings(actor, draw, row, trees.get(row.tree_id), _TWICE if row.tree_id in measured else "")
        if any(finding.severity == ERROR for finding in found):
            problems[number] = found
        measured.add(row.tree_id)
    if problems:
        raise CensusRefused(problems)
    if new:
        _store(actor, draw, [(row, trees[row.tree_id], None) for row in new])
        audit_record(actor=actor, verb="seconddraw.measured_again", obj=draw, changes=_added(new))
    return len(new)


@write
def second_measurement_correct(*, actor, record, reason, **changes):
    """Correct a second measurement by a new one; the record itself stays.

    The office corrects any, whoever entered it their own until the draw is handed in. Raises CensusRefused.
    """
    draw = record.drawn.draw
    _lock(draw)
    if not may_correct_second(actor, record):
        raise ValidationError(
            gettext("You can correct your own second measurements until all are handed in. Ask the coordinator to correct this one.")
        )
    if not reason.strip():
        raise ValidationError({"reason": gettext("Say why the earlier record is corrected.")})
    if SecondMeasurement.objects.filter(supersedes=record).exists():
        raise ValidationError(gettext("This record is already corrected. Correct the newest one."))
    row = replace(row_of(record), **{"uuid": uuid4()} | changes, reason=reason)
    if row.status not in CAUSES_BY_STATUS:
        row = replace(row, cause="")
    drawn = _trees_of(draw)[record.drawn.tree_id]
    found = _findings(actor, draw, row, drawn, "")
    if any(finding.severity == ERROR for finding in found):
        raise CensusRefused({0: found})
    [stored] = _store(actor, draw, [(row, drawn, record)])
    audit_record(actor=actor, verb="seconddraw.corrected", obj=draw, changes=_added([stored]), reason=reason)
    return stored


@write
def second_draw_close(*, actor, draw, reason):
    """Hand a draw in without the trees that nobody reached: each is recorded as not visited. Returns how many."""
    _lock(draw)
    if not reason.strip():
        raise ValidationError({"reason": "Say why the other trees were not measured again."})
    left = [drawn for drawn in _trees_of(draw).values() if not drawn.is_measured]
    if not left:
        raise ValidationError("Every drawn tree has a second measurement already.")
    rows = [
        CensusRow(
            draw.round_id, drawn.tree_id, status=NOT_VISITED, observed_on=timezone.localdate(), observer=draw.measured_by, note=reason
        )
        for drawn in left
    ]
    _store(actor, draw, [(row, drawn, None) for row, drawn in zip(rows, left, strict=True)])
    audit_record(actor=actor, verb="seconddraw.closed", obj=draw, changes=_added(rows), reason=reason)
    return len(rows)


def row_of(record):
    """A second measurement as a row of the census, to be judged and corrected like one."""
    values = {name: value for name, value in record.values.items() if name in FIELDS}
    own = {name: value for name, value in record.values.items() if name not in FIELDS}
    return CensusRow(
        record.drawn.draw.round_id, record.drawn.tree_id, status=record.status, observed_on=record.observed_on, cause=record.cause,
        note=record.note, observer=record.observer, uuid=record.uuid, own_values=own, **values,
    )  # fmt: skip


def _lock(draw):
    """Of two who write to one draw the second waits, and sees what the first stored."""
    Planting.objects.select_for_update().get(pk=CensusRound.objects.values_list("planting", flat=True).get(pk=draw.round_id))


def _trees_of(draw):
    """{tree pk: SecondTree, with `is_measured`}."""
    measured = set(SecondMeasurement.objects.filter(drawn__draw=draw).values_list("drawn", flat=True))
    trees = {drawn.tree_id: drawn for drawn in draw.trees.select_related("tree", "first__entered_by").order_by("pk")}
    for drawn in trees.values():
        drawn.is_measured = drawn.pk in measured
    return trees


def _findings(actor, draw, row, drawn, fault):
    if drawn is None:
        return (Finding("tree", ERROR, _STRANGER),)
    census_round = draw.round
    found = row_findings(row, census_round, drawn.tree.planted_on or census_round.planting.planted_on)
    if row.status != NOT_VISITED and (who := observer_fault(drawn.first, row.observer, actor)):
        found = (Finding("observer", ERROR, who), *found)
    return (Finding("tree", ERROR, fault), *found) if fault else found


def _added(records):
    return {"second measurements": [None, len(records)]}


def _store(actor, draw, checked):
    """Append checked (row, drawn tree, record it corrects or None) as second measurements."""
    asked, stamp = asked_at(draw.round), timezone.now()
    records = []
    for row, drawn, corrected in checked:
        row = as_stored(row)
        records.append(
            SecondMeasurement(
                uuid=row.uuid, drawn=drawn, status=row.status, cause=row.cause, values=recorded_values(row, asked), note=row.note,
                observed_on=row.observed_on, observer=row.observer, entered_by=actor, received_at=stamp, supersedes=corrected,
                reason=row.reason, number=corrected.number + 1 if corrected else 1,
            )
        )  # fmt: skip
    append_rows(records)
    return records
