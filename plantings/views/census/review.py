"""The queue of a round: what came in and nobody has read; accepted at once where it is clean, one by one where it looks odd."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.shortcuts import redirect
from django.views.generic import TemplateView

from plantings.calc.arrival.agreement_words import agreement_lines
from plantings.calc.arrival.exchanges import last_words
from plantings.choices import ReviewState
from plantings.forms.census import record_words
from plantings.forms.reviews import RECORDS_AT_ONCE, ReviewForm
from plantings.models import Observation, PlotCount
from plantings.selectors.census.asked import own_at
from plantings.selectors.census.count_queue import count_queue
from plantings.selectors.census.queue import review_queue
from plantings.selectors.plantings.photos import photos_with_corrected
from plantings.selectors.plantings.unknown_plots import plot_planted_words
from plantings.services.census.reviews import records_review
from plantings.views.census.asking import correction_url
from plantings.views.census.rounds import get_round
from plantings.views.plantings.trees import place_words
from registry.access.views import AccessMixin
from registry.calc.shared.screen import amount_words
from registry.views.shared.addresses import record_url
from registry.views.shared.forms import add_errors
from registry.views.shared.tables import Column, ledger_table

_ODD_SHOWN = _PHOTOGRAPHED_SHOWN = 100
_DONE = {ReviewState.ACCEPTED: "accepted", ReviewState.ASKED_BACK: "asked back", ReviewState.REJECTED: "rejected"}


class RoundReviewView(AccessMixin, TemplateView):
    action = "observation.review"
    template_name = "plantings/census/review.html"

    def find_rows(self):
        self.round = get_round(self, self.kwargs["pk"])

    def get(self, request, *args, **kwargs):
        self.form = ReviewForm(QueryDict())
        return super().get(request, *args, **kwargs)

    def post(self, request, *args, **kwargs):
        self.form = ReviewForm(request.POST)
        if self.form.is_valid() and self.decide():
            return redirect("round_review", self.round.pk)
        return self.render_to_response(self.get_context_data(tried=True))

    def decide(self):
        values = self.form.cleaned_data
        records = list(self.scoped(Observation).filter(round=self.round, pk__in=self.form.keys))
        counts = list(self.scoped(PlotCount).filter(round=self.round, pk__in=self.form.count_keys))
        if not records and not counts:
            self.form.add_error(None, "None of these records is in this round.")
            return False
        try:
            count = records_review(
                actor=self.user, observations=records, counts=counts, state=values["decision"], reason=values["reason"]
            )  # fmt: skip
        except ValidationError as error:
            add_errors(self.form, error)
            return False
        messages.success(self.request, f"{amount_words(count, 'records')} {_DONE[values['decision']]}.")
        return True

    def get_context_data(self, tried=False, **kwargs):
        queue, counts = review_queue(self.round), count_queue(self.round)
        has_keys = tried and hasattr(self.form, "keys")
        ticked, counts_ticked = (self.form.keys, self.form.count_keys) if has_keys else ((), ())
        clean = len(queue.clean[:RECORDS_AT_ONCE]) + len(counts.clean)
        shown = queue.odd[:_ODD_SHOWN]
        self.own = own_at(self.round)
        others = [*queue.clean, *queue.asked]
        photos = photos_with_corrected([line.record for line in (*shown, *others)])
        photographed = [line for line in others if photos.get(line.record.pk)]
        page = {
            "title": f"Review {self.round.label}, {self.round.planting.code}",
            "question": "Which records can be trusted, and which need a second look?",
            "round": self.round,
            "round_url": record_url(self.round),
            "queue": queue,
            "clean_keys": ",".join(str(line.record.pk) for line in queue.clean[:RECORDS_AT_ONCE]),
            "clean_count": clean,
            "clean_counts": ",".join(str(line.count.pk) for line in counts.clean),
            "clean_words": _clean_words(queue, counts),
            "unread": queue.unread + len(counts.clean) + len(counts.odd),
            "asked_count": len(queue.asked) + len(counts.asked),
            "odd_counts": [self.count_line(line, counts_ticked) for line in counts.odd],
            "asked_counts": _asked_counts(counts.asked),
            "form": self.form if tried else ReviewForm(),
            "exchanges": [exchange.words for exchange in queue.checks.exchanges],
            "agreement": agreement_lines(queue.pairs, self.own),
            "habits": [f"{habit.observer}, {habit.measurement.label.lower()}: {habit.words}." for habit in queue.checks.habits],
            "odd": [self.odd_line(line, ticked) | {"photos": photos.get(line.record.pk, ())} for line in shown],
            "photographed": [self.photographed(line, ticked, photos) for line in photographed[:_PHOTOGRAPHED_SHOWN]],
            "photographed_count": len(photographed),
            "asked": self.asked_table(queue.asked),
            "decisions": [(ReviewState.ACCEPTED, "Accept"), (ReviewState.ASKED_BACK, "Ask back"), (ReviewState.REJECTED, "Reject")],
        }
        return super().get_context_data(**kwargs) | page

    def odd_line(self, line, ticked):
        record = line.record
        return {
            "pk": record.pk,
            "ticked": record.pk in ticked,
            "tag": record.tree.tag,
            "url": record_url(record.tree),
            "place": place_words(record.tree),
            "now": record_words(record, self.own),
            "note": record.note,
            "who": record.observer or record.entered_by,
            "last": last_words(line.last),
            "looks": line.looks,
            "beside": [_beside(other, self.own) for other in (line.before, line.after) if other],
            "correct": f"{correction_url(self.user, record)}?{urlencode({'back': self.request.path})}",
        }

    def photographed(self, line, ticked, photos):
        """A record whose values are not odd, or that the crew was asked about, beside its photos."""
        record = line.record
        is_asked = record.review_state == ReviewState.ASKED_BACK
        return {
            "pk": record.pk, "ticked": record.pk in ticked, "tag": record.tree.tag, "url": record_url(record.tree),
            "now": record_words(record, self.own), "note": record.note, "who": record.observer or record.entered_by,
            "state": "asked back" if is_asked else "", "photos": photos[record.pk],
        }  # fmt: skip

    def count_line(self, line, ticked):
        count = line.count
        return {
            "pk": count.pk,
            "ticked": count.pk in ticked,
            "plot": count.plot.code,
            "now": _count_words(count),
            "note": count.note,
            "who": count.observer or count.entered_by,
            "last": _count_words(line.last) if line.last else "–",
            "looks": line.looks,
            "correct": correction_url(self.user, count),
        }

    def asked_table(self, lines):
        columns = (
            Column("Tree", lambda line: line.record.tree.tag, kind="code", url=lambda line: record_url(line.record.tree)),
            Column("What the crew was asked", lambda line: line.record.review_reason, wide=True),
            Column("Recorded", lambda line: record_words(line.record, self.own)),
        )
        return ledger_table("Asked back, no answer yet", columns, lines, unit="records") if lines else None


def _asked_counts(lines):
    columns = (
        Column("Plot", "count.plot.code", kind="code"),
        Column("What the crew was asked", "count.review_reason", wide=True),
        Column("Counted", lambda line: _count_words(line.count)),
    )
    return ledger_table("Counts of plots asked back, no answer yet", columns, lines, unit="counts") if lines else None


def _clean_words(queue, counts):
    """10 records and 2 counts of plots."""
    parts = ((len(queue.clean), "records"), (len(counts.clean), "counts"))
    return " and ".join(f"{amount_words(number, unit)}{' of plots' if unit == 'counts' else ''}" for number, unit in parts if number)


def _count_words(count):
    known = count.plot.planted_count is not None
    return f"{count.alive:,} alive, {count.dead:,} dead of {plot_planted_words(count.plot) if known else 'an unknown number'}"


def _beside(line, own):
    return line.record.tree.tag, record_words(line.record, own), last_words(line.last)
