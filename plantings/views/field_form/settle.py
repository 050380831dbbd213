"""Where two keyings of a page differ: a person chooses, cell by cell."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect
from django.views.generic import TemplateView

from plantings.forms.settle import SettleForm
from plantings.models import PageKeying
from plantings.selectors.census.asked import asked_at
from plantings.selectors.census.rounds import records_by_tree
from plantings.selectors.field_form.keyings import cells_of, compared, keyings_of, page_trees
from plantings.selectors.field_form.pages import scans_of_page
from plantings.services.census.observations import CensusRefused
from plantings.services.field_form.keyings import keying_settle
from plantings.views.census.rounds import get_round
from registry.access.views import AccessMixin
from registry.calc.shared.screen import amount_words, day_words
from registry.views.shared.addresses import record_url

_BOXES = {"status": "Status", "cause": "Cause", "note": "Note"}


class KeyingSettleView(AccessMixin, TemplateView):
    action = "observation.review"
    template_name = "plantings/field_form/settle.html"

    def find_rows(self):
        keyings = self.scoped(PageKeying).filter(number=2).select_related("page", "entered_by", "settlement__entered_by")
        self.keying = get_object_or_404(keyings, pk=self.kwargs["pk"])
        page = self.keying.page
        self.round = page.round = get_round(self, page.round_id)
        self.settled = getattr(self.keying, "settlement", None)
        self.asked = asked_at(self.round)
        self.comparison = compared(page, self.keying.cells, self.keying.observed_on)
        self.problems = []

    def make_form(self, data=None):
        found = records_by_tree(self.round, self.keying.page.trees)
        self.records = {pk: records[-1] for pk, records in found.items()}
        cells = {pk: cells_of(record, self.asked) for pk, record in self.records.items()}
        return SettleForm(self.keying, self.comparison, self.asked, cells, data)

    def get(self, request, *args, **kwargs):
        self.form = self.make_form()
        return super().get(request, *args, **kwargs)

    def post(self, request, *args, **kwargs):
        self.form = self.make_form(request.POST)
        if self.settled is None and self.form.is_valid() and self.store():
            return redirect(record_url(self.round))
        return self.render_to_response(self.get_context_data())

    def store(self):
        rows = self.form.rows(self.records)
        try:
            stored = keying_settle(actor=self.user, keying=self.keying, rows=rows, decided=self.form.decided)
        except CensusRefused as refused:
            self.problems = [finding.message for found in refused.problems.values() for finding in found]
            return False
        except ValidationError as error:
            self.problems = error.messages
            return False
        corrected = sum(row.supersedes_id is not None for row in rows)
        said = [f"{amount_words(corrected, 'records')} corrected"] if corrected else []
        said += [f"{amount_words(stored - corrected, 'records')} added"] if stored > corrected else []
        words = ", ".join(said) or "The records stay as they are"
        messages.success(self.request, f"Page {self.keying.page.code} settled. {words}.")
        return True

    def get_context_data(self, **kwargs):
        page, first = self.keying.page, keyings_of(self.keying.page).get(1)
        labels = _BOXES | {item.field: f"{item.short_label} {item.hint}".strip() for item in self.asked}
        context = {
            "title": f"Settle page {page.code}",
            "question": "Which of the two keyings is right?",
            "round_url": record_url(self.round),
            "first": first,
            "keying": self.keying,
            "settled": self.settled,
            "comparison": self.comparison,
            "days": [day_words(day) for day in self.comparison.days or ()],
            "form": self.form,
            "problems": self.problems,
            "scans": list(scans_of_page(self.user, page)),
            "decided": self.decided_lines(labels) if self.settled else [],
            "trees": [self.tree_lines(tree, labels) for tree in self.form.trees],
        }
        return super().get_context_data(**kwargs) | context

    def decided_lines(self, labels):
        """What was settled, each cell beside what the second person had keyed. PostgreSQL stores boxes in an order of its own."""
        page, decided = self.keying.page, self.settled.decided
        place = {name: number for number, name in enumerate(labels)}
        return [
            {
                "tag": tree.tag,
                "label": labels.get(name, name),
                "second": self.keying.cells.get(str(tree.pk), {}).get(name, ""),
                "text": text,
            }
            for tree in page_trees(page)
            for name, text in sorted(decided.get(str(tree.pk), {}).items(), key=lambda box: place.get(box[0], len(place)))
        ]

    @staticmethod
    def tree_lines(tree, labels):
        return {
            "tag": tree.tree.tag,
            "errors": tree.errors,
            "has_record": tree.difference.record is not None,
            "cells": [cell | {"label": labels[cell["name"]]} for cell in tree.cells],
        }
