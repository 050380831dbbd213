"""Corrections of census records: the record stays on file, a new one says who, when and why."""

from plantings.forms.census import CorrectionForm, PlotCorrectionForm
from plantings.models import Observation, PlotCount
from plantings.services.census import CensusRefused, observation_correct, plot_count_record
from plantings.views.census.census import refused_error, stored_words
from plantings.views.plantings.plantings import round_url
from plantings.views.plantings.trees import place_words, tree_url
from registry.views.shared.forms import RecordActionView


class ObservationCorrectView(RecordActionView):
    model = Observation
    action = "observation.correct"
    form_class = CorrectionForm
    template_name = "plantings/census/observation_correct.html"
    question = "What should this record have said, and why?"
    submit_label = "Save the correction"

    def get_title(self):
        return f"Correct the record of tree {self.object.tree.tag}"

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"record": self.object}

    def perform(self, form):
        try:
            return observation_correct(
                actor=self.request.user, observation=self.object, reason=form.cleaned_data["reason"], **form.changes()
            )
        except CensusRefused as refused:
            raise refused_error(refused.problems[0], form) from None

    def get_success_message(self):
        return f"Correction of tree {self.object.tree.tag} saved. The earlier record stays on file."

    def get_cancel_url(self):
        return tree_url(self.object.tree)

    get_success_url = get_cancel_url

    def get_context_data(self, **kwargs):
        record = self.object
        corrected = hasattr(record, "superseded_by")
        page = {
            "where": f"{place_words(record.tree)} · {record.round.label}",
            "record": stored_words(record),
            "superseded": f"This record was corrected before. Reason: {record.superseded_by.reason}" if corrected else "",
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
