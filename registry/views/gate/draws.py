"""The cap of a paper: what is given back to it, and what was used of it before these books began."""

from registry.forms.gate.draws import GiveBackForm, OpeningForm
from registry.models import Authorization
from registry.services.gate.draws import draw_opening, draw_return
from registry.views.shared.generic import RecordActionView, reverse_to

__all__ = ["AUTHORITY_CAUTION", "AuthorizationGiveBackView", "AuthorizationOpeningView", "cap_actions"]

AUTHORITY_CAUTION = {
    "title": "Check with the local authority",
    "text": "The book keeps what the paper says. What it means for a movement or a planting is not decided here.",
}


def cap_actions(paper):
    """The links of a paper that has, or had, a cap."""
    if paper.drawn:
        yield "Give back to its cap", "authorization.edit", reverse_to("authorization_give_back", paper.pk)
    if paper.cap_quantity is not None:
        yield "Used before these books", "authorization.edit", reverse_to("authorization_opening", paper.pk)


class CapView(RecordActionView):
    model = Authorization
    action = "authorization.edit"

    def get_cautions(self):
        return [AUTHORITY_CAUTION]


class AuthorizationGiveBackView(CapView):
    form_class = GiveBackForm
    question = "What was drawn from its cap and not used after all?"
    submit_label = "Give it back to the cap"
    success_message = "It is given back."

    def get_title(self):
        return f"Give back to the cap of {self.object.code}"

    def perform(self, form):
        return draw_return(actor=self.request.user, paper=self.object, **form.cleaned_data)


class AuthorizationOpeningView(CapView):
    form_class = OpeningForm
    question = "How much of its cap was used before anything was kept here?"
    submit_label = "Count it against the cap"
    success_message = "It is counted."

    def get_title(self):
        return f"Used of the cap of {self.object.code} before these books"

    def perform(self, form):
        return draw_opening(actor=self.request.user, paper=self.object, **form.cleaned_data)
