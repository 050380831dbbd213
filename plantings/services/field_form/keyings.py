"""Stores that a page of a field form was keyed, keyed a second time by another person, and how the differences were settled."""

from dataclasses import replace

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext

from plantings.calc.census.measurements import ERROR
from plantings.choices import Arrival
from plantings.models import KeyingSettlement, PageKeying, Planting
from plantings.selectors.census.asked import asked_at
from plantings.selectors.field_form.keyings import cells_of, compared, other_records, page_trees
from plantings.services.census.checks import row_findings
from plantings.services.census.observations import CensusRefused, as_stored, observations_record
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["keying_settle", "page_key", "second_keying_store"]


@write
def page_key(*, actor, page, rows):
    """Store the census rows of a page, and whose keying of it was the first. Returns how many rows were new."""
    stamp = timezone.now()  # one for both: records from before it are not of this keying
    stored = observations_record(actor=actor, rows=rows, received_at=stamp)
    if stored and not page.keyings.exists():
        append_row(PageKeying(page=page, number=1, entered_by=actor, entered_at=stamp))
    return stored


@write
def second_keying_store(*, actor, page, rows, observed_on, observer=""):
    """Store what a second person keyed from a page, and how much of it differs from the records on file, whichever way they came. No
    census record is stored. Returns the PageKeying.

    Raises CensusRefused when a row breaks a rule, ValidationError when the page is not there for a second keying.
    """
    Planting.objects.select_for_update().get(pk=page.round.planting_id)
    keyings = {keying.number: keying for keying in page.keyings.all()}
    is_others = keyings[1].entered_by_id != actor.pk if 1 in keyings else bool(other_records(page, actor))
    if 2 in keyings or not is_others:
        raise ValidationError(gettext("This page cannot be keyed a second time by you, or somebody else just did. Load it again."))
    _refuse_wrong(page, rows)
    asked = asked_at(page.round)
    cells = {str(row.tree_id): cells_of(as_stored(row), asked) for row in rows}
    keying = PageKeying(
        page=page, number=2, observed_on=observed_on, observer=observer, cells=cells, entered_by=actor, entered_at=timezone.now(),
        differing=compared(page, cells, observed_on).differing,
    )  # fmt: skip
    keying.full_clean()
    append_row(keying)
    changes = {"page": [None, page.code], "cells that differ": [None, keying.differing]}
    audit_record(actor=actor, verb="censusround.page_keyed_again", obj=page.round, changes=changes)
    return keying


def _refuse_wrong(page, rows):
    trees = {tree.pk: tree for tree in page_trees(page)}
    problems = {}
    for number, row in enumerate(rows):
        if row.tree_id not in trees:
            raise ValidationError(gettext("A tree of this page is not in its planting any longer. Load the page again."))
        tree = trees[row.tree_id]
        found = row_findings(row, page.round, tree.planted_on or tree.planting.planted_on)
        if any(finding.severity == ERROR for finding in found):
            problems[number] = found
    if problems:
        raise CensusRefused(problems)


@write
def keying_settle(*, actor, keying, rows, decided):
    """Store what a person decided where two keyings differ: `rows` of the trees whose record changes, each of which corrects the record
    on file or is the first of its tree; `decided` is {tree key: {box: text}}. Returns how many records were stored."""
    page = keying.page
    Planting.objects.select_for_update().get(pk=page.round.planting_id)
    if KeyingSettlement.objects.filter(keying=keying).exists():
        raise ValidationError("Somebody else has settled this page. Load it again.")
    is_keyed_twice = page.keyings.filter(number=1).exists()
    reason = f"two keyings of page {page.code} differed" if is_keyed_twice else f"page {page.code} and its records differed"
    rows = [
        replace(row, reason=reason if row.supersedes_id else "", arrived_as=Arrival.ACCEPTED.value) for row in rows
    ]  # fmt: skip
    stored = observations_record(actor=actor, rows=rows) if rows else 0
    append_row(KeyingSettlement(keying=keying, decided=decided, entered_by=actor, entered_at=timezone.now()))
    changes = {"page": [None, page.code], "records corrected": [None, stored]}
    audit_record(actor=actor, verb="censusround.keyings_settled", obj=page.round, changes=changes)
    return stored
