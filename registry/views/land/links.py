"""Private links of landowners: making one and revoking it."""

from django.urls import reverse

from registry.forms.land.land import LinkForm, RevokeForm
from registry.models import Partner, PrivateLink
from registry.selectors.land.land import land_contacts
from registry.services.land.links import link_make, link_revoke
from registry.views.shared.addresses import link
from registry.views.shared.forms import RecordActionView
from registry.views.shared.shown_once import ShownOnceView


class PartnerLinkView(ShownOnceView):
    model = Partner
    action = "link.edit"
    form_class = LinkForm
    form_extras = property(lambda page: {"partner": page.object})
    title = "Private link for {object.name}"
    question = "Who gets a page of their own, without a password?"
    submit_label = "Make the link"
    service = link_make
    shown_template = "registry/land/link_made.html"
    shown_question = "The link is shown only once. Copy it now."
    template_name = "registry/land/link_form.html"
    cautions = (
        {
            "title": "A link is a key",
            "lines": [
                "Whoever has the link can read this landowner's page, enter receipts, sign, and send us messages in their name.",
                "Send it only to them. If someone else may have it, revoke it and make another.",
            ],
        },
    )

    def arguments(self, form):
        return self.values(form)

    def shown(self, key):
        return {"address": self.request.build_absolute_uri(reverse("land_page", args=[key]))}

    def get_page(self):
        add = link(self.user, "person.edit", "person_add")
        return {"contacts": land_contacts(self.object, self.today).exists(), "add_url": add}


class LinkRevokeView(RecordActionView):
    model = PrivateLink
    action = "link.edit"
    form_class = RevokeForm
    title = "Revoke the {object}"
    question = "The link stops working at once and cannot be restored. Make another one instead."
    submit_label = "Revoke the link"
    success_message = "Link revoked."
    service = link_revoke
    argument = "link"
    back_to = property(lambda page: page.object.person.partner)
