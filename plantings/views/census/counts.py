"""The counts of a round's counted plots."""

from django.contrib import messages
from django.shortcuts import redirect
from django.utils.translation import gettext, gettext_noop, ngettext
from django.views.generic import TemplateView

from plantings.calc.arrival.counts import CountSeen
from plantings.choices import ReviewState
from plantings.forms.counts import COLUMNS, PlotCountsForm
from plantings.selectors.census.count_queue import count_findings
from plantings.selectors.census.rounds import standing_counts
from plantings.services.census.plot_counts import PlotCountRefused, plot_counts_record
from plantings.views.census.asking import AskMixin, correction_url
from plantings.views.census.census import RoundEntryMixin
from registry.selectors.shared.local_words import local_count, local_day
from registry.views.shared.addresses import record_url

# it names no earlier count, which would lead whoever counts again
_LOOKS_ODD = gettext_noop("This count looks odd. Count again, or say why in the note; if it is right, save again.")


class CensusCountsView(AskMixin, RoundEntryMixin, TemplateView):
    template_name = "plantings/census/census_counts.html"

    def get(self, request, *args, **kwargs):
        self.form = self.get_form()
        return super().get(request, *args, **kwargs)

    def get_form(self, data=None):
        plots = self.round.planting.counted_plots.select_related("entry__lot")
        return PlotCountsForm(plots, standing_counts(self.round), data=data, head_initial=self.head_initial())

    def post(self, request, *args, **kwargs):
        self.form = self.get_form(request.POST)
        if self.form.is_valid() and self.store():
            return redirect(f"{request.path}?{self.head_query(self.form.head)}")
        return self.render_to_response(self.get_context_data())

    def store(self):
        sent, head = self.form.sent, self.form.head.cleaned_data
        counts = [form.cleaned_data | {"plot": form.plot, "dead": form.cleaned_data["dead"] or 0} for form in sent]
        if odd := self.odd_counts(counts, head["observed_on"]):
            for form in sent:
                for name, words in odd.get(form.plot.pk, {}).items():
                    form.add_error(name if name in form.fields else None, words)
            return False
        try:
            plot_counts_record(actor=self.user, census_round=self.round, counts=counts, **head)
        except PlotCountRefused as refused:
            next(form for form in sent if form.plot == refused.plot).add_error(None, refused.messages)
            return False
        self.record_cautions_read()
        if sent:
            words = ngettext("Count of %(n)s plot saved.", "Counts of %(n)s plots saved.", len(sent))
            messages.success(self.request, words % {"n": len(sent)})
        else:
            messages.warning(self.request, gettext("Nothing was entered, so nothing was saved."))
        return True

    def odd_counts(self, counts, observed_on):
        """{plot pk: {field: words}} to ask about before anything is stored; empty once the same counts came back."""
        by_plot = {count["plot"].pk: count for count in counts}
        seen = [(count["plot"], CountSeen(count["alive"], count["dead"], observed_on, count["note"])) for count in counts]
        found = count_findings(self.round, seen) if seen else {}
        fields = {plot.pk: {look.field for look in looks if look.field in by_plot[plot.pk]} for plot, looks in found.items()}
        odd = {pk: [(name, _LOOKS_ODD) for name in sorted(names)] for pk, names in fields.items() if names}
        return self.ask_once(odd, lambda plot, name: by_plot[plot][name])

    def get_context_data(self, **kwargs):
        page = {
            "title": gettext("Count the plots: %(planting)s, %(round)s")
            % {"planting": self.round.planting.code, "round": self.round.label},
            "question": gettext("How many are alive in each plot?"),
            "grid": self.form,
            "columns": COLUMNS,
            "rows": [self.row(*line) for line in self.form.lines],
            "cancel_url": record_url(self.round),
        }
        return super().get_context_data(**kwargs) | page

    def row(self, plot, form, counts):
        return {
            "tag": plot.code,
            "place": _place_words(plot, self.user),
            "uuid": form["uuid"] if form else None,
            "fields": [form["alive"], form["dead"], form["note"]] if form else None,
            "errors": form.non_field_errors() if form and form.is_bound else (),
            "records": [([count.alive, count.dead, count.note], _count_words(count), correction_url(self.user, count)) for count in counts],
        }


def _place_words(plot, user):
    if plot.planted_count is None:
        words = gettext("number planted not known")
    else:
        words = gettext("%(n)s planted") % {"n": local_count(plot.planted_count)}
    return f"{plot.entry.lot.code}, {words}" if user.may("tree.lot") else words


def _count_words(count):
    values = {"n": count.alive, "day": local_day(count.observed_on), "who": count.observer or count.entered_by}
    words = gettext("%(n)s alive, %(day)s, by %(who)s") % values
    if count.review_state == ReviewState.ASKED_BACK:
        words = gettext("%(record)s. Asked back: %(reason)s") % {"record": words, "reason": count.review_reason}
    return words
