"""The form of a census round, with a first guess from the round before."""

from datetime import timedelta

from plantings.forms.plantings import RoundForm
from plantings.models import CensusRound, Planting
from plantings.services.plantings import round_save
from plantings.views.plantings.plantings import known
from registry.views.shared.forms import RecordFormView


class RoundFormView(RecordFormView):
    model = CensusRound
    action = "round.edit"
    form_class = RoundForm
    service = round_save
    argument = "census_round"
    question = "When is the planting visited, and how old is it then?"
    submit_label = "Save the round"
    success_message = "Census round {result} saved."

    @property
    def initial(self):
        initial = known(self, Planting, "planting")
        last = CensusRound.objects.filter(planting=initial.get("planting")).order_by("opens_on").last()
        return initial | following(last) if last and "pk" not in self.kwargs else initial


def following(last):
    """The round a year after another, as a first guess: the same window, one more growing season."""
    opens_on, closes_on = last.opens_on + timedelta(days=364), last.closes_on + timedelta(days=364)
    label = last.label.replace(str(last.opens_on.year), str(opens_on.year), 1)
    return {
        "growing_seasons": last.growing_seasons + 1, "opens_on": opens_on, "closes_on": closes_on, "label": label,
        "protocol": last.protocol_id, "protocol_version": last.protocol_version,
    }  # fmt: skip
