"""The landowners' side, for the office: wordings of agreements, signatures, private links, what landowners told us."""

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
from registry.views.land.parts import EXAMPLE, text_words
from registry.views.permits.words import PAPER_LISTS
from registry.views.shared.generic import RecordActionView, RecordDetailView, ServiceFormMixin, reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, SectionListView, allowed, link
from registry.views.shared.tables import Column, ledger_table

LAW_CAUTION = {
    "title": "Check with somebody who knows the local law",
    "text": "What an agreement has to say, and whether it binds, differs from place to place. The book keeps the words only.",
}


def text_url(text):
    return reverse_to("agreementtext_detail", text.pk)


class AgreementTextListView(SectionListView):
    model = AgreementText
    action = "authorization.view"
    title = "Wordings of agreements"
    question = "What do landowners sign, in which version?"
    unit = "wordings"
    others = PAPER_LISTS
    add = ("New wording", "authorization.edit", "agreementtext_add")
    empty = ("No wording yet", "Write the agreement landowners sign. A later change becomes a new version of it.", None)
    columns = (
        Column("Title", "title", url=text_url),
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

    def get_page(self):
        text, user = self.object, self.request.user
        return {
            "state": f"version {text.version}",
            "where": EXAMPLE if text.is_example else "",
            "cautions": [LAW_CAUTION],
            "actions": allowed(user, ("Write a new version", "authorization.edit", reverse_to("agreementtext_edit", text.pk))),
            "facts": [("Written by", f"{text.entered_by or 'taken over'}, {day_words(timezone.localdate(text.entered_at))}", None)],
            "parts": [
                {"title": "The wording", "include": "registry/shared/_as_written.html", "text": text.body},
                self.signatures_table(),
                self.versions_table(),
            ],
        }

    def signatures_table(self):
        user = self.request.user
        columns = (
            Column("Paper", "authorization.code", kind="code", url=lambda signature: link(
                user, "authorization.view", "authorization_detail", signature.authorization_id
            )),
            Column("Signed by", "signed_by"),
            Column("Signed on", "signed_on", kind="date"),
            Column("How", "get_how_display"),
        )  # fmt: skip
        signatures = self.scoped(AgreementSignature).filter(text=self.object).select_related("authorization")[:PART_ROWS_MAX]
        return ledger_table("Signed", columns, signatures, unit="signatures", empty="Nobody has signed this version.")

    def versions_table(self):
        columns = (
            Column("Version", "version", url=lambda text: text_url(text) if text.pk != self.object.pk else None),
            Column("Written on", "entered_at", kind="date"),
            Column("Written by", lambda text: str(text.entered_by or "taken over")),
        )
        versions = self.scoped(AgreementText).filter(title=self.object.title).select_related("entered_by").order_by("-entered_at", "-pk")
        return ledger_table("Versions", columns, versions, unit="versions")


class AgreementTextAddView(ServiceFormMixin, FormView):
    action = "authorization.edit"
    form_class = AgreementTextForm
    title = "New wording"
    question = "What will a landowner sign?"
    submit_label = "Save the wording"

    def get_cautions(self):
        return [LAW_CAUTION]

    def get_cancel_url(self):
        return reverse("agreementtext_list")

    def perform(self, form):
        return agreement_text_add(actor=self.request.user, **form.cleaned_data)

    def get_success_url(self):
        return text_url(self.result)


class AgreementVersionView(RecordActionView):
    """A changed wording is a new version; what was signed stays as it was read."""

    model = AgreementText
    action = "authorization.edit"
    form_class = AgreementVersionForm
    question = "What does it say from now on? What was signed stays as it was read."
    submit_label = "Save the new version"

    def get_title(self):
        return f"New version of {self.object.title}"

    def get_initial(self):
        return {"body": self.object.body, "is_example": self.object.is_example}

    def get_cautions(self):
        return [LAW_CAUTION]

    def perform(self, form):
        return agreement_text_add(actor=self.request.user, title=self.object.title, **form.cleaned_data)

    def get_cancel_url(self):
        return text_url(self.object)

    def get_success_url(self):
        return text_url(self.result)


class AuthorizationSignView(RecordActionView):
    """A signature on paper, as the office enters it."""

    model = Authorization
    action = "authorization.edit"
    form_class = SignatureForm
    question = "Who signed which wording, and when?"
    submit_label = "Enter the signature"
    success_message = "The signature is in the book. Keep the signed sheet with the paper as a document."

    def get_title(self):
        return f"Signature under {self.object}"

    def get_initial(self):
        partner = self.object.partner
        return {"signed_by": partner.contact_name if partner else ""}

    def get_cautions(self):
        return [LAW_CAUTION]

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        form.fields["text"].label_from_instance = text_words
        return form

    def perform(self, form):
        return agreement_sign(actor=self.request.user, authorization=self.object, **form.cleaned_data)


class PartnerLinkView(RecordActionView):
    """A link is shown once, on the answer to this form."""

    model = Partner
    action = "link.edit"
    form_class = LinkForm
    question = "Who gets a page of their own, without a password?"
    submit_label = "Make the link"
    template_name = "registry/land/link_form.html"

    def get_title(self):
        return f"Private link for {self.object.name}"

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"partner": self.object}

    def get_cautions(self):
        lines = [
            "Whoever has the link can read the page of this landowner, enter receipts, sign and write to us in their name.",
            "Send it to them alone. If it may have come into other hands, take it back and make another.",
        ]
        return [{"title": "A link is a key", "lines": lines}]

    def form_valid(self, form):
        made, token = link_make(actor=self.request.user, **form.cleaned_data)
        page = {
            "title": f"Private link for {self.object.name}",
            "question": "It is shown this once. Copy it now.",
            "made": made,
            "address": self.request.build_absolute_uri(reverse("land_page", args=[token])),
            "back": reverse_to("partner_detail", self.object.pk),
        }
        response = render(self.request, "registry/land/link_made.html", page)
        response.headers["Cache-Control"] = "no-store"
        return response

    def get_context_data(self, **kwargs):
        add = link(self.request.user, "person.edit", "person_add")
        return super().get_context_data(**kwargs) | {"contacts": land_contacts(self.object, timezone.localdate()).exists(), "add_url": add}


class LinkRevokeView(RecordActionView):
    model = PrivateLink
    action = "link.edit"
    form_class = RevokeForm
    question = "From the moment you take it back, the link opens nothing. It cannot be given back; make another instead."
    submit_label = "Take the link back"
    success_message = "The link is taken back."

    def get_title(self):
        return f"Take back the {self.object}"

    def perform(self, form):
        return link_revoke(actor=self.request.user, link=self.object, **form.cleaned_data)

    def get_cancel_url(self):
        return reverse_to("partner_detail", self.object.person.partner_id)


class LandNoticeListView(SectionListView):
    model = LandNotice
    action = "landnotice.view"
    title = "Word from landowners"
    question = "What did landowners tell us, and who acted on it?"
    unit = "notices"
    others = PAPER_LISTS
    empty = (
        "Nothing yet",
        "What landowners write on their page stands here, and what they say on the telephone when somebody enters it.",
        None,
    )
    columns = (
        Column("Told on", "entered_at", kind="date", url=lambda notice: reverse_to("landnotice_detail", notice.pk)),
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


class LandNoticeDetailView(RecordDetailView):
    model = LandNotice
    action = "landnotice.view"
    question = "What did they tell us, and what was done?"

    def get_queryset(self):
        return super().get_queryset().select_related("partner", "entered_by")

    def get_title(self):
        return f"{self.object.partner.name}: {self.object.get_kind_display()}"

    def get_page(self):
        notice, user = self.object, self.request.user
        told = timezone.localdate(notice.entered_at)
        waiting = notice.handled_on is None
        act = [("Say what was done", "landnotice.edit", reverse_to("landnotice_handle", notice.pk))] if waiting else []
        return {
            "state": "waits for somebody" if waiting else "acted on",
            "due": [{"severity": "odd", "text": "Nobody has acted on it yet.", "due": told}] if waiting else [],
            "actions": allowed(user, *act),
            "facts": [
                ("Partner", str(notice.partner), link(user, "partner.view", "partner_detail", notice.partner_id)),
                *([("Site", notice.site_code, None)] if notice.site_code else []),
                ("Told on", f"{day_words(told)}", None),
                ("Entered by", str(notice.entered_by or ""), None),
                *([] if waiting else [("Acted on", f"{day_words(notice.handled_on)}, by {notice.handled_by}", None)]),
            ],
            "parts": [
                {"title": "In their words", "include": "registry/shared/_as_written.html", "text": notice.text},
                *(
                    []
                    if waiting
                    else [{"title": "What was done", "include": "registry/shared/_as_written.html", "text": notice.handled_text}]
                ),
            ],
        }


class LandNoticeHandleView(RecordActionView):
    model = LandNotice
    action = "landnotice.edit"
    form_class = HandleForm
    question = "Who acted on it, and what was done?"
    submit_label = "Enter what was done"
    success_message = "It is in the book."

    def get_title(self):
        return f"Act on the word of {self.object.partner.name}"

    def get_initial(self):
        return {"by": str(self.request.user)}

    def perform(self, form):
        return land_notice_handle(actor=self.request.user, notice=self.object, **form.cleaned_data)


class PartnerNoticeView(RecordActionView):
    """What a landowner said on the telephone, entered by the office."""

    model = Partner
    action = "landnotice.edit"
    form_class = NoticeForm
    question = "What did they say, in their words?"
    submit_label = "Enter it"
    success_message = "It is in the book, and waits for somebody to act on it."

    def get_title(self):
        return f"Word from {self.object.name}"

    def perform(self, form):
        return land_notice_add(actor=self.request.user, partner=self.object, **form.cleaned_data)
