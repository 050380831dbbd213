"""Stores which trees the pages of a printed field form list, so that a page code leads to them."""

from itertools import groupby

from django.utils import timezone

from plantings.models import FormPage, Planting
from registry.services.audit.trail import append_rows, audit_record
from registry.services.audit.write import write

__all__ = ["form_pages_store"]


@write
def form_pages_store(*, actor, census_round, pages):
    """The FormPages of a form that lists these trees, [[tree pk, …] of each page].

    A form of this round with the same trees on the same pages is not stored again: a page printed last week and the same page printed
    today carry one code.
    """
    Planting.objects.select_for_update().get(pk=census_round.planting_id)
    pages = [list(trees) for trees in pages]
    earlier = FormPage.objects.filter(round=census_round).order_by("form", "number")
    forms = [list(found) for _form, found in groupby(earlier, key=lambda page: page.form)]
    for form in forms:
        if [page.trees for page in form] == pages:
            return form
    stamp = timezone.now()
    made = append_rows(
        [
            FormPage(
                round=census_round, form=len(forms) + 1, number=number, count=len(pages), trees=trees, entered_by=actor, entered_at=stamp
            )
            for number, trees in enumerate(pages, start=1)
        ]
    )  # fmt: skip
    audit_record(actor=actor, verb="censusround.field_form_printed", obj=census_round, changes={"pages": [None, len(made)]})
    return made
