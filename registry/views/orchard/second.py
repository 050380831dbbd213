"""The second person of a decision: confirming it signed in, making a link, and the page behind the link."""

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import ValidationError
from django.forms import Form
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views.generic import View

from registry.models import SelectionDecision
from registry.selectors.orchard.second import decision_link_for, not_the_second
from registry.services.orchard.second import LINK_DAYS, decision_confirm, decision_confirm_by_link, decision_link_make
from registry.views.shared.forms import RecordActionView
from registry.views.shared.shown_once import ShownOnceView


class DecisionConfirmView(RecordActionView):
    model = SelectionDecision
    action = "decision.enter"
    form_class = Form
    template_name = "registry/orchard/decision_confirm.html"
    title = "Confirm the decision on {object.tree.code}"
    question = "Do you agree with this decision, as the second person named?"
    submit_label = "I agree with this decision"
    success_message = "Decision confirmed."
    service = decision_confirm
    argument = "decision"


class DecisionLinkView(ShownOnceView):
    model = SelectionDecision
    action = "decision.enter"
    form_class = Form
    title = "Link for {object.second_name}"
    question = f"The second person confirms the decision without an account. The link works for {LINK_DAYS} days, once."
    submit_label = "Make the link"
    service = decision_link_make
    argument = "decision"
    shown_template = "registry/orchard/decision_link.html"
    shown_question = "The link is shown only once. Copy it now."

    def shown(self, key):
        return {"address": self.request.build_absolute_uri(reverse("decision_by_link", args=[key]))}


@method_decorator(login_not_required, name="dispatch")
class DecisionByLinkView(View):
    """The page of the second person. The address is the key: no browser or search engine stores the page or passes the address on."""

    def get(self, request, token):
        link = decision_link_for(token, timezone.localdate())
        if link and (words := not_the_second(request.user, link)):
            return self.page(request, {"not_the_second": words}, 403)
        return self.page(request, {"decision": link.decision, "ends_on": link.ends_on} if link else {}, 200 if link else 404)

    def post(self, request, token):
        link = decision_link_for(token, timezone.localdate())
        if link and (words := not_the_second(request.user, link)):
            return self.page(request, {"not_the_second": words}, 403)
        try:
            agreement = decision_confirm_by_link(token=token)
        except ValidationError:
            return self.page(request, {}, 404)
        return self.page(request, {"agreement": agreement}, 200)

    @staticmethod
    def page(request, values, status):
        nobody = {"user": AnonymousUser(), "sections": ()}  # it acts in another's name, whoever happens to be signed in
        response = render(request, "registry/orchard/decision_by_link.html", nobody | values, status=status)
        response.headers["Cache-Control"] = "no-store"
        response.headers["Referrer-Policy"] = "same-origin"
        response.headers["X-Robots-Tag"] = "noindex, nofollow"
        return response
