"""Self-sown seedlings of a round: noted apart, never counted with the trees."""

from django.utils.translation import gettext, gettext_lazy

from plantings.forms.counts import SelfSownCorrectionForm, SelfSownForm
from plantings.models import CensusRound, SelfSown
from plantings.services.field_form.self_sown import self_sown_correct, self_sown_record
from plantings.views.census.corrections import CensusCorrectView
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


class SelfSownCorrectView(CensusCorrectView):
    model = SelfSown
    argument = "record"
    form_class = SelfSownCorrectionForm
    service = self_sown_correct
    title = property(lambda page: gettext("Correct the self-sown seedlings: %(round)s, %(planting)s") % _names(page.object.round))
    success_message = gettext_lazy("Correction saved. The earlier record stays on file.")
    back_to = property(lambda page: page.object.round)

    def get_rows(self):
        return self.scoped(SelfSown).select_related("round__planting")


def _names(census_round):
    return {"round": census_round.label, "planting": census_round.planting.code}
