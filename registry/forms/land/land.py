"""Forms of the landowners' side: wordings, signatures, links, messages. Those of the private page are here too."""

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from registry import choices
from registry.forms.shared.fields import PastDateField, day_box
from registry.models import AgreementText, LandNotice, Person
from registry.selectors.land.land import land_contacts


class AgreementTextForm(forms.Form):
    title = forms.CharField(label="Title", max_length=160)
    version = forms.CharField(
        label="Version", max_length=20, help_text="Such as 1, or 2026. Signatures stay with the version that was signed."
    )
    body = forms.CharField(
        label="The wording", widget=forms.Textarea(attrs={"rows": 16}),
        help_text="Term, access, who owns trees, nuts and wood, what happens at a sale. Have somebody who knows the local law read it.",
    )  # fmt: skip
    is_example = forms.BooleanField(label="An example, not law", required=False)


class AgreementVersionForm(AgreementTextForm):
    """The next version of a wording: its title stays."""

    title = None


class SignatureForm(forms.Form):
    """A signature on paper, as the office enters it."""

    text = forms.ModelChoiceField(AgreementText.objects.order_by("title", "-entered_at"), label="Which wording was signed")
    signed_by = forms.CharField(label="Signed by", max_length=120)
    signed_on = PastDateField(label="Signed on")


class LinkForm(forms.Form):
    """A private link for one of a partner's contacts."""

    person = forms.ModelChoiceField(Person.objects.none(), label="In the name of", empty_label=None)
    ends_on = forms.DateField(label="Valid until", required=False, widget=day_box(), help_text="Blank: it works until it is revoked.")

    def __init__(self, *args, partner, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = land_contacts(partner, timezone.localdate())


class RevokeForm(forms.Form):
    reason = forms.CharField(label="Reason for revoking it", max_length=200, required=False)


class NoticeForm(forms.ModelForm):
    """A message from a landowner. `sites` are the (code, name) pairs of their own land."""

    class Meta:
        model = LandNotice
        fields = ["kind", "site_code", "text"]
        labels = {"kind": gettext_lazy("What is it about?"), "site_code": gettext_lazy("Which site"), "text": gettext_lazy("In your words")}
        widgets = {"kind": forms.RadioSelect, "text": forms.Textarea(attrs={"rows": 4})}
        help_texts = {"text": gettext_lazy("Such as when, who the new owner is, or what will be cut and where.")}

    def __init__(self, *args, sites=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = choices.land_notice_kinds()
        if sites is not None:
            offered = [("", _("all of it, or not said")), *((code, f"{code} {name}") for code, name in sites)]
            self.fields["site_code"] = forms.ChoiceField(label=_("Which site"), choices=offered, required=False)


class HandleForm(forms.Form):
    on = PastDateField(label="Done on")
    by = forms.CharField(label="By", max_length=80)
    text = forms.CharField(
        label="What was done", widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Such as: called the new owner, agreement EX-12 sent. Enter a changed address on the partner's page as well.",
    )  # fmt: skip


class SignForm(forms.Form):
    """Signing on the private page; `text` is the version that was shown."""

    text = forms.IntegerField(label=gettext_lazy("The wording"), widget=forms.HiddenInput)
    signed_by = forms.CharField(label=gettext_lazy("Your name"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "name"}))
    read = forms.BooleanField(
        label=gettext_lazy("I have read this wording and agree to it"),
        error_messages={"required": gettext_lazy("Tick the box when you have read it and agree.")},
    )
