"""Corrections of census records: the record stays on file, a new one says who, when and why."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext, gettext_lazy

from plantings.forms.census import CorrectionForm, PlotCorrectionForm
from plantings.models import Observation, PlotCount
from plantings.selectors.census.records import may_correct
from plantings.services.census import CensusRefused, observation_correct, plot_count_record
from plantings.views.census.asking import AskMixin, stored_words
from plantings.views.census.census import refused_error
from plantings.views.plantings.plantings import round_url
from plantings.views.plantings.trees import place_words, tree_url
from registry.views.shared.addresses import own_address
from registry.views.shared.forms import RecordActionView


class ObservationCorrectView(AskMixin, RecordActionView):
    """The office corrects any record, whoever entered it their own while the round is open; any other is a 404 to them."""

    model = Observation
    action = "census.enter"
    form_class = CorrectionForm
    template_name = "plantings/census/observation_correct.html"
    question = gettext_lazy("What should this record have said, and why?")
    submit_label = gettext_lazy("Save the correction")

    def dispatch(self, request, *args, **kwargs):
        if request.user.may(self.action):
            record = get_object_or_404(self.scoped(Observation).select_related("round"), pk=kwargs["pk"])
            if not may_correct(request.user, record, timezone.localdate()):
                raise Http404("This record is not yours to correct, or its round is closed.")
        return super().dispatch(request, *args, **kwargs)

    def get_title(self):
        return gettext("Correct the record of tree %(tag)s") % {"tag": self.object.tree.tag}

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"record": self.object}

    def perform(self, form):
        self.ask_about(form, form.row())
        try:
            return observation_correct(
                actor=self.request.user, observation=self.object, reason=form.cleaned_data["reason"], **form.changes()
            )
        except CensusRefused as refused:
            raise refused_error(refused.problems[0], form) from None

    def get_success_message(self):
        return gettext("Correction of tree %(tag)s saved. The earlier record stays on file.") % {"tag": self.object.tree.tag}

    def get_cancel_url(self):
        return own_address(self.request, self.request.GET.get("back", "")) or tree_url(self.object.tree)

    get_success_url = get_cancel_url

    def get_context_data(self, **kwargs):
        record = self.object
        corrected = hasattr(record, "superseded_by")
        page = {
            "where": f"{place_words(record.tree)} · {record.round.label}",
            "record": stored_words(record),
            "superseded": gettext("This record was corrected before. Reason: %(reason)s") % {"reason": record.superseded_by.reason}
            if corrected
            else "",
            "tree_url": tree_url(record.tree),
        }
        return super().get_context_data(**kwargs) | page


class PlotCountCorrectView(RecordActionView):
    model = PlotCount
    action = "observation.correct"
    form_class = PlotCorrectionForm
    question = "What should this count have said, and why?"
    submit_label = "Save the correction"

    def get_title(self):
        return f"Correct the count of plot {self.object.plot.code}, {self.object.round.label}"

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"record": self.object}

    def perform(self, form):
        count, values = self.object, form.cleaned_data
        return plot_count_record(
            actor=self.request.user, census_round=count.round, plot=count.plot, supersedes=count, **values | {"dead": values["dead"] or 0}
        )

    def get_success_message(self):
        return f"Correction of plot {self.object.plot.code} saved. The earlier count stays on file."

    def get_cancel_url(self):
        return round_url(self.object.round)

    get_success_url = get_cancel_url
