"""Self-sown seedlings of a round: noted apart, never counted with the trees."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext, gettext_lazy

from plantings.forms.counts import SelfSownCorrectionForm, SelfSownForm
from plantings.models import CensusRound, SelfSown
from plantings.selectors.census.records import may_correct
from plantings.services.field_form.self_sown import self_sown_correct, self_sown_record
from registry.views.shared.forms import RecordActionView


class SelfSownAddView(RecordActionView):
    model = CensusRound
    argument = "census_round"
    action = "census.enter"
    form_class = SelfSownForm
    service = self_sown_record
    person_box = "observer"
    title = property(lambda page: gettext("Self-sown seedlings: %(round)s, %(planting)s") % _names(page.object))
    question = gettext_lazy("Where did seedlings come up by themselves? They are never counted as planted trees.")
    submit_label = gettext_lazy("Save the seedlings")
    success_message = gettext_lazy("Self-sown seedlings saved.")


class SelfSownCorrectView(RecordActionView):
    """The office corrects any, whoever entered it their own while the round is open; any other is a 404 to them."""

    model = SelfSown
    argument = "record"
    action = "census.enter"
    form_class = SelfSownCorrectionForm
    form_extras = property(lambda page: {"record": page.object})
    service = self_sown_correct
    title = property(lambda page: gettext("Correct the self-sown seedlings: %(round)s, %(planting)s") % _names(page.object.round))
    question = gettext_lazy("What should this record have said, and why?")
    submit_label = gettext_lazy("Save the correction")
    success_message = gettext_lazy("Correction saved. The earlier record stays on file.")
    back_to = property(lambda page: page.object.round)

    def find_rows(self):
        self.object = get_object_or_404(self.scoped(SelfSown).select_related("round__planting"), pk=self.kwargs["pk"])
        if not may_correct(self.user, self.object, self.today):
            raise Http404("This record is not yours to correct, or its round is closed.")


def _names(census_round):
    return {"round": census_round.label, "planting": census_round.planting.code}
