"""Forms that add material to a planting: a stop of the gate is shown with its answer, and the lead may override it."""

from registry.compliance.gate.decide import decide
from registry.forms.gate.gate import override_field
from registry.selectors.gate.determinations import gate_view
from registry.services.gate.determinations import GateStopped
from registry.views.gate.gate import paper_urls


class AdditionMixin:
    """Shows the answer when the gate stops a lot that is new to the planting, and to the lead a box to override it.

    `plant(form, override_reason)` calls the service.
    """

    template_name = "registry/gate/gate_form.html"
    stopped = None

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        if form.is_bound and self.request.user.may("gate.override"):
            form.fields["override_reason"] = override_field()
        return form

    def perform(self, form):
        try:
            return self.plant(form, form.cleaned_data.pop("override_reason", ""))
        except GateStopped as stop:
            self.stopped = decide(stop.asked["question"], stop.asked["facts"])
            raise

    def get_context_data(self, **kwargs):
        page = super().get_context_data(**kwargs)
        form = page["form"]
        if self.stopped:
            page["gate"] = gate_view(self.stopped, paper_urls(self.request.user, self.stopped))
        elif not form.data.get("override_reason"):
            form.fields.pop("override_reason", None)
        return page
