"""The landowners' side, for the office: wordings of agreements, signatures, private links, messages from landowners."""

from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.generic import FormView

from registry.calc.shared.screen import day_words
from registry.forms.land.land import AgreementTextForm, AgreementVersionForm, HandleForm, LinkForm, NoticeForm, RevokeForm, SignatureForm
from registry.models import AgreementSignature, AgreementText, Authorization, LandNotice, Partner, PrivateLink
from registry.selectors.land.land import land_contacts, notices_listed, texts_listed
from registry.services.land.agreements import agreement_sign, agreement_text_add
from registry.services.land.links import link_make, link_revoke
from registry.services.land.notices import land_notice_add, land_notice_handle
from registry.views.land.sections import EXAMPLE, text_words
from registry.views.permits.authorizations import PAPER_LISTS
from registry.views.shared.generic import RecordActionView, RecordDetailView, ServiceFormMixin, reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, SectionListView, link
from registry.views.shared.sections import Action, Fact, Panel, Section
from registry.views.shared.tables import Column, Link

LAW_CAUTION = {
    "title": "Check with somebody who knows the local law",
    "text": "What an agreement has to say, and whether it is binding, differs from place to place. This site only stores its wording.",
}


def as_written(title, text):
    """Words somebody wrote, shown as they are."""
    return {"title": title, "include": "registry/shared/_as_written.html", "text": text}


def _written_by(text):
    return str(text.entered_by or "not recorded")


class AgreementTextListView(SectionListView):
    model = AgreementText
    action = "authorization.view"
    title = "Wordings of agreements"
    question = "What do landowners sign, in which version?"
    unit = "wordings"
    others = PAPER_LISTS
    add = ("New wording", "authorization.edit", "agreementtext_add")
    empty = ("No wording yet", "Write the agreement that landowners sign. Each later change is a new version.", None)
    columns = (
        Column("Title", "title", url=Link("agreementtext_detail")),
        Column("Version", "version"),
        Column("Written on", "entered_at", kind="date"),
        Column("Kind", lambda text: EXAMPLE if text.is_example else ""),
        Column("Signatures", "signed_count", "right", "number"),
    )

    def get_queryset(self):
        return texts_listed(super().get_queryset()).order_by("title", "-entered_at")


class AgreementTextDetailView(RecordDetailView):
    model = AgreementText
    action = "authorization.view"
    question = "What does it say, and who signed it?"
    facts = (Fact("Written by", lambda page: f"{_written_by(page.object)}, {day_words(timezone.localdate(page.object.entered_at))}"),)
    actions = (Action(label="Write a new version", route="agreementtext_edit", may="authorization.edit"),)
    sections = (
        Panel(draw_parts=lambda page: [as_written("The wording", page.object.body)]),
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
            rows=lambda page: page.versions,
            columns=lambda page, versions: (
                Column("Version", "version", url=lambda text: None if text == page.object else reverse_to("agreementtext_detail", text.pk)),
                Column("Written on", "entered_at", kind="date"),
                Column("Written by", _written_by),
            ),
        ),
    )

    @property
    def versions(self):
        versions = self.scoped(AgreementText).filter(title=self.object.title)
        return versions.select_related("entered_by").order_by("-entered_at", "-pk")

    def state(self):
        return f"version {self.object.version}"

    def where(self):
        return EXAMPLE if self.object.is_example else ""

    def get_cautions(self):
        return [LAW_CAUTION]


class AgreementTextAddView(ServiceFormMixin, FormView):
    action = "authorization.edit"
    form_class = AgreementTextForm
    title = "New wording"
    question = "What will a landowner sign?"
    submit_label = "Save the wording"
    success_message = "Wording saved."
    cautions = (LAW_CAUTION,)

    def get_cancel_url(self):
        return reverse("agreementtext_list")

    def perform(self, form):
        return agreement_text_add(actor=self.user, **form.cleaned_data)

    def get_success_url(self):
        return reverse_to("agreementtext_detail", self.result.pk)


class AgreementVersionView(RecordActionView):
    """A changed wording is a new version; what was signed does not change."""

    model = AgreementText
    action = "authorization.edit"
    form_class = AgreementVersionForm
    title = "New version of {object.title}"
    question = "What does it say from now on? Signatures stay with the version that was signed."
    submit_label = "Save the new version"
    success_message = "New version saved."
    cautions = (LAW_CAUTION,)

    def get_initial(self):
        return {"body": self.object.body, "is_example": self.object.is_example}

    def perform(self, form):
        return agreement_text_add(actor=self.user, title=self.object.title, **form.cleaned_data)

    def get_success_url(self):
        return reverse_to("agreementtext_detail", self.result.pk)


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
    argument = "authorization"

    def get_initial(self):
        partner = self.object.partner
        return {"signed_by": partner.contact_name if partner else ""}

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        form.fields["text"].label_from_instance = text_words
        return form


class PartnerLinkView(RecordActionView):
    """A link is shown once, on the answer to this form."""

    model = Partner
    action = "link.edit"
    form_class = LinkForm
    form_argument = "partner"
    title = "Private link for {object.name}"
    question = "Who gets a page of their own, without a password?"
    submit_label = "Make the link"
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

    def form_valid(self, form):
        made, token = link_make(actor=self.user, **form.cleaned_data)
        page = {
            "title": self.get_title(),
            "question": "The link is shown only once. Copy it now.",
            "made": made,
            "address": self.request.build_absolute_uri(reverse("land_page", args=[token])),
            "back": self.get_cancel_url(),
        }
        response = render(self.request, "registry/land/link_made.html", page)
        response.headers["Cache-Control"] = "no-store"
        return response

    def get_context_data(self, **kwargs):
        add = link(self.user, "person.edit", "person_add")
        return super().get_context_data(**kwargs) | {"contacts": land_contacts(self.object, timezone.localdate()).exists(), "add_url": add}


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

    def get_cancel_url(self):
        return reverse_to("partner_detail", self.object.person.partner_id)


class LandNoticeListView(SectionListView):
    model = LandNotice
    action = "landnotice.view"
    title = "Messages from landowners"
    question = "What did landowners tell us, and who acted on it?"
    unit = "messages"
    others = PAPER_LISTS
    empty = (
        "No messages yet",
        "Landowners send messages from their page; the office enters phone calls.",
        None,
    )
    columns = (
        Column("Received on", "entered_at", kind="date", url=Link("landnotice_detail")),
        Column("Partner", "partner.name"),
        Column("About", "get_kind_display"),
        Column("Site", "site_code", kind="code"),
        Column("Acted on", "handled_on", kind="date"),
        Column("By", "handled_by"),
    )

    def get_queryset(self):
        return notices_listed(super().get_queryset())

    def row_mark(self, notice):
        return "" if notice.handled_on else "odd"


def _is_open(page):
    return page.object.handled_on is None


class LandNoticeDetailView(RecordDetailView):
    model = LandNotice
    action = "landnotice.view"
    question = "What did they tell us, and what was done?"
    related = ("partner", "entered_by")
    facts = (
        Fact("Partner", "partner", Link("partner_detail", "partner_id", "partner.view")),
        Fact("Site", "site_code"),
        Fact("Received on", lambda page: page.received_on),
        Fact("Entered by", "entered_by"),
        Fact("Acted on", "handled_on"),
        Fact("By", "handled_by"),
    )
    actions = (Action(label="Enter what was done", route="landnotice_handle", may="landnotice.edit", when=_is_open),)
    sections = (
        Panel(draw_parts=lambda page: [as_written("In their words", page.object.text)]),
        Panel(draw_parts=lambda page: [] if _is_open(page) else [as_written("What was done", page.object.handled_text)]),
    )

    @property
    def received_on(self):
        return timezone.localdate(self.object.entered_at)

    def get_title(self):
        return f"{self.object.partner.name}: {self.object.get_kind_display()}"

    def state(self):
        return "open" if _is_open(self) else "acted on"

    def get_due(self):
        return [{"severity": "odd", "text": "This message is still open.", "due": self.received_on}] if _is_open(self) else []


class LandNoticeHandleView(RecordActionView):
    model = LandNotice
    action = "landnotice.edit"
    form_class = HandleForm
    title = "Act on the message from {object.partner.name}"
    question = "Who acted on it, and what was done?"
    submit_label = "Save what was done"
    success_message = "Saved: what was done about the message."
    person_box = "by"
    service = land_notice_handle
    argument = "notice"


class PartnerNoticeView(RecordActionView):
    """What a landowner said on the phone, entered by the office."""

    model = Partner
    action = "landnotice.edit"
    form_class = NoticeForm
    title = "Message from {object.name}"
    question = "What did they say, in their words?"
    submit_label = "Save the message"
    success_message = "Message saved. It stays open until somebody enters what was done."
    service = land_notice_add
    argument = "partner"
