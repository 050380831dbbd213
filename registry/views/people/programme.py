"""The programme's settings: its name and address, its thresholds. The office reads them, the lead sets them."""

from django.http import Http404
from django.urls import reverse
from django.utils.functional import cached_property
from django.views.generic import FormView

from registry.forms.orchard.orchard import SettingForm
from registry.selectors.people.programme import DEFAULTS, thresholds
from registry.services.people.programme import programme_setting_save
from registry.views.shared.details import PageView
from registry.views.shared.forms import ServiceFormMixin
from registry.views.shared.tables import Column, ledger_table


class SettingListView(PageView):
    action = "setting.view"
    template_name = "registry/people/settings_page.html"
    title = "Programme settings"
    question = "What are the programme's name and thresholds, who set them, and on what basis?"

    def get_page(self):
        may = self.may("setting.edit")
        columns = (
            Column("Setting", "label", url=lambda item: reverse("setting_edit", args=[item.key]) if may else None),
            Column("Value", lambda item: str(item.value) or "not set"),
            Column("Unit", "unit"),
            Column("Set by", lambda item: item.record.owner if item.record else "not set: this is the default"),
            Column("On", lambda item: item.record.set_on if item.record else None, kind="date"),
            Column("Basis", "basis", wide=True),
        )
        note = "Where the programme set nothing, the default is shown. A default is not advice: set your own, with its basis."
        return {"parts": [ledger_table("Settings", columns, thresholds(), unit="settings", note=note)]}


class SettingFormView(ServiceFormMixin, FormView):
    action = "setting.edit"
    form_class = SettingForm
    service = programme_setting_save
    question = "What is the new value, who set it, and on what basis?"
    submit_label = "Save the setting"
    success_message = "Setting saved."
    title = property(lambda page: f"Set: {page.threshold.label}")
    leads_to = "setting_list"
    back_to = "setting_list"

    @cached_property
    def threshold(self):
        if self.kwargs["setting"] not in {key.value for key in DEFAULTS}:
            raise Http404("There is no setting of this name.")
        return next(item for item in thresholds() if item.key == self.kwargs["setting"])

    @property
    def initial(self):
        item = self.threshold
        return {"value": str(item.value), "owner": item.record.owner if item.record else str(self.user), "basis": item.basis}

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        form.fields["value"].unit = self.threshold.unit
        return form

    def values(self, form):
        return super().values(form) | {"key": self.threshold.key}
