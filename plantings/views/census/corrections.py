"""Corrections of census records: the record stays on file, a new one says who, when and why."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext, gettext_lazy

from plantings.forms.census import CorrectionForm, PlotCorrectionForm
from plantings.models import Observation, PlotCount
from plantings.selectors.census.asked import own_of
from plantings.selectors.census.records import may_correct
from plantings.services.census.observations import CensusRefused, observation_correct
from plantings.services.census.plot_counts import plot_count_correct
from plantings.views.census.asking import AskMixin, stored_words
from plantings.views.census.census import refused_error
from plantings.views.plantings.trees import place_words
from registry.views.shared.addresses import own_address, record_url
from registry.views.shared.forms import RecordActionView


class CensusCorrectView(RecordActionView):
    """The office corrects any record, whoever entered it their own while the round is open, the crew one that was asked back; any other
    is a 404 to them."""

    action = "census.enter"
    question = gettext_lazy("What should this record have said, and why?")
    submit_label = gettext_lazy("Save the correction")
    form_extras = property(lambda page: {"record": page.object})

    def get_rows(self):
        return self.scoped(self.model).with_review().select_related("round__protocol")

    def find_rows(self):
        self.object = get_object_or_404(self.get_rows(), pk=self.kwargs["pk"])
        if not may_correct(self.user, self.object, self.today):
            raise Http404("This record is not yours to correct, or its round is closed.")


class ObservationCorrectView(AskMixin, CensusCorrectView):
    model = Observation
    form_class = CorrectionForm
    service = observation_correct
    template_name = "plantings/census/observation_correct.html"
    title = property(lambda page: gettext("Correct the record of tree %(tag)s") % {"tag": page.object.tree.tag})
    back_to = property(lambda page: page.object.tree)

    def perform(self, form):
        self.ask_about(form, form.row())
        try:
            return super().perform(form)
        except CensusRefused as refused:
            raise refused_error(refused.problems[0], form) from None

    def values(self, form):
        return form.changes() | {"reason": form.cleaned_data["reason"]}

    @property
    def success_message(self):
        return gettext("Correction of tree %(tag)s saved. The earlier record stays on file.") % {"tag": self.object.tree.tag}

    def get_cancel_url(self):
        return own_address(self.request, self.request.GET.get("back", "")) or super().get_cancel_url()

    get_success_url = get_cancel_url

    def get_page(self):
        record = self.object
        corrected = hasattr(record, "superseded_by")
        return {
            "where": f"{place_words(record.tree)} · {record.round.label}",
            "record": stored_words(record, own_of([record])),
            "superseded": gettext("This record was corrected before. Reason: %(reason)s") % {"reason": record.superseded_by.reason}
            if corrected
            else "",
            "tree_url": record_url(record.tree),
        }


class PlotCountCorrectView(CensusCorrectView):
    model = PlotCount
    form_class = PlotCorrectionForm
    service = plot_count_correct
    argument = "count"
    question = gettext_lazy("What should this count have said, and why?")
    title = property(
        lambda page: (
            gettext("Correct the count of plot %(plot)s, %(round)s") % {"plot": page.object.plot.code, "round": page.object.round.label}
        )
    )
    success_message = property(
        lambda page: gettext("Correction of plot %(plot)s saved. The earlier count stays on file.") % {"plot": page.object.plot.code}
    )
    back_to = property(lambda page: page.object.round)

    def values(self, form):
        return form.cleaned_data | {"dead": form.cleaned_data["dead"] or 0}
