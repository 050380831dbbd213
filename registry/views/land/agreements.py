"""Agreements with landowners: their wordings in versions, and the signatures the office enters."""

from django.utils import timezone
from django.utils.functional import cached_property
from django.views.generic import FormView

from registry.calc.shared.screen import day_words
from registry.forms.land.land import AgreementTextForm, AgreementVersionForm, SignatureForm
from registry.models import AgreementSignature, AgreementText, Authorization
from registry.selectors.land.land import texts_listed
from registry.services.land.agreements import agreement_sign, agreement_text_add
from registry.views.land.sections import EXAMPLE, text_words
from registry.views.permits.words import PAPER_LISTS
from registry.views.shared.addresses import record_url
from registry.views.shared.details import PART_ROWS_MAX, RecordDetailView
from registry.views.shared.forms import NewVersionView, RecordActionView, ServiceFormMixin
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section, as_written
from registry.views.shared.tables import Column, Link

LAW_CAUTION = {
    "title": "Check with somebody who knows the local law",
    "text": "What an agreement has to say, and whether it is binding, differs from place to place. Mastbook only stores its wording.",
}


def _written_by(text):
    return str(text.entered_by or "not recorded")


class AgreementTextListView(RecordListView):
    model = AgreementText
    action = "authorization.view"
    title = "Wordings of agreements"
    question = "What do landowners sign, in which version?"
    unit = "wordings"
    others = PAPER_LISTS
    add = ("New wording", "authorization.edit", "agreementtext_add")
    empty = ("No wording yet", "Write the agreement that landowners sign. Each later change is a new version.", None)
    read = staticmethod(texts_listed)
    order = ("title", "-entered_at")
    columns = (
        Column("Title", "title", url=Link("agreementtext_detail"), wide=True),
        Column("Version", "version"),
        Column("Written on", "entered_at", kind="date"),
        Column("Kind", lambda text: EXAMPLE if text.is_example else ""),
        Column("Signatures", "signed_count", "right", "number"),
    )


class AgreementTextDetailView(RecordDetailView):
    model = AgreementText
    action = "authorization.view"
    question = "What does it say, and who signed it?"
    state = property(lambda page: f"version {page.object.version}")
    where = property(lambda page: EXAMPLE if page.object.is_example else "")
    cautions = (LAW_CAUTION,)
    facts = (Fact("Written by", lambda page: f"{_written_by(page.object)}, {day_words(timezone.localdate(page.object.entered_at))}"),)
    actions = (Action("Write a new version", "agreementtext_edit", "authorization.edit"),)
    sections = (
        as_written("The wording", "body"),
        Section(
            title="Signed",
            unit="signatures",
            rows=lambda page: page.scoped(AgreementSignature).filter(text=page.object).select_related("authorization"),
            most=PART_ROWS_MAX,
            columns=(
                Column("Paper", "authorization.code", kind="code", url=Link("authorization_detail", "authorization_id")),
                Column("Signed by", "signed_by"),
                Column("Signed on", "signed_on", kind="date"),
                Column("How", "get_how_display"),
            ),
            missing="signatures of this version",
        ),
        Section(
            title="Versions",
            unit="versions",
            rows=lambda page: page.versions if len(page.versions) > 1 else [],
            columns=lambda page, versions: (
                Column("Version", "version", url=lambda text: None if text == page.object else record_url(text)),
                Column("Written on", "entered_at", kind="date"),
                Column("Written by", _written_by),
            ),
        ),
    )

    @cached_property
    def versions(self):
        versions = self.scoped(AgreementText).filter(title=self.object.title)
        return list(versions.select_related("entered_by").order_by("-entered_at", "-pk"))


class AgreementTextAddView(ServiceFormMixin, FormView):
    action = "authorization.edit"
    form_class = AgreementTextForm
    title = "New wording"
    question = "What will a landowner sign?"
    submit_label = "Save the wording"
    success_message = "Wording saved."
    cautions = (LAW_CAUTION,)
    service = agreement_text_add
    back_to = "agreementtext_list"
    leads_to = property(lambda page: page.result)


class AgreementVersionView(NewVersionView):
    """A changed wording is a new version; what was signed does not change."""

    model = AgreementText
    action = "authorization.edit"
    form_class = AgreementVersionForm
    title = "New version of {object.title}"
    question = "What does it say from now on? Signatures stay with the version that was signed."
    cautions = (LAW_CAUTION,)
    service = agreement_text_add
    named_by = "title"
    starts_with = ("body", "is_example")


class AuthorizationSignView(RecordActionView):
    """A signature on paper, as the office enters it."""

    model = Authorization
    action = "authorization.edit"
    form_class = SignatureForm
    title = "Signature under {object}"
    question = "Who signed which wording, and when?"
    submit_label = "Save the signature"
    success_message = "Signature saved. Add a scan of the signed page as a document of the paper."
    cautions = (LAW_CAUTION,)
    service = agreement_sign

    @property
    def initial(self):
        partner = self.object.partner
        return {"signed_by": partner.contact_name if partner else ""}

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        form.fields["text"].label_from_instance = text_words
        return form
