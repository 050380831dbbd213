"""The cap of a paper: what is given back to it, and what was used of it before these records began."""

from registry.forms.gate.draws import GiveBackForm, OpeningForm
from registry.models import Authorization
from registry.services.gate.draws import draw_opening, draw_return
from registry.views.permits.words import AUTHORITY_CAUTION
from registry.views.shared.forms import RecordActionView
from registry.views.shared.sections import Action

CAP_ACTIONS = (
    Action("Give back to its cap", "authorization_give_back", "authorization.edit", when=lambda page: page.object.drawn),
    Action(
        "Enter earlier use of its cap", "authorization_opening", "authorization.edit",
        when=lambda page: page.object.cap_quantity is not None,
    ),
)  # fmt: skip


class CapView(RecordActionView):
    model = Authorization
    action = "authorization.edit"
    argument = "paper"
    cautions = (AUTHORITY_CAUTION,)


class AuthorizationGiveBackView(CapView):
    form_class = GiveBackForm
    service = draw_return
    title = "Give back to the cap of {object.code}"
    question = "What was counted against its cap but not used?"
    submit_label = "Give it back to the cap"
    success_message = "Quantity given back to the cap."


class AuthorizationOpeningView(CapView):
    form_class = OpeningForm
    service = draw_opening
    title = "Earlier use of the cap of {object.code}"
    question = "How much of its cap was used before these records began?"
    submit_label = "Count it against the cap"
    success_message = "Earlier use counted against the cap."
