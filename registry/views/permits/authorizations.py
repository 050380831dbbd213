"""Authorizations: permits, certificates, licences, notifications, consents, agreements."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views import View

from registry.access.views import AccessMixin
from registry.calc.shared.screen import day_words
from registry.forms.permits.authorizations import AuthorizationForm, AuthorizationStateForm, DocumentForm
from registry.forms.shared.filters import AuthorizationFilters
from registry.imports.kinds import AuthorizationSheet
from registry.models import Authorization, PaperDocument, Shipment
from registry.selectors.permits.as_of import paper_on, papers_on, version_on
from registry.selectors.permits.authorizations import announced_duties, authorization_duties, covers_words, held_by_people, paper_mark
from registry.selectors.permits.documents import file_content, file_fault
from registry.services.permits.authorizations import authorization_save, authorization_state_set, document_add
from registry.views.duties.duties import duty_parts
from registry.views.gate.draws import AUTHORITY_CAUTION, cap_actions
from registry.views.land.parts import paper_land_parts
from registry.views.shared.generic import PageView, RecordActionView, RecordDetailView, file_response, reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, SectionFormView, SectionListView, allowed, link
from registry.views.shared.tables import Column, ledger_table

PAPER_LISTS = (
    ("Papers", "authorization.view", "authorization_list"),
    ("Duties", "duty.view", "duty_list"),
    ("Calendar", "duty.view", "calendar"),
    ("Incidents", "incident.view", "incident_list"),
    ("Rules", "rule.view", "requirement_list"),
    ("Material classes", "rule.view", "materialclass_list"),
    ("Answers of the gate", "determination.view", "determination_list"),
    ("Who holds what", "authorization.view", "authorization_holders"),
    ("Papers handed out", "issued.view", "issuedpaper_list"),
    ("Wordings of agreements", "authorization.view", "agreementtext_list"),
    ("Word from landowners", "landnotice.view", "landnotice_list"),
)


class AuthorizationListView(SectionListView):
    model = Authorization
    action = "authorization.view"
    title = "Papers"
    question = "Which permits, certificates and agreements are there, and until when?"
    unit = "papers"
    sheet = AuthorizationSheet
    filter_form = AuthorizationFilters
    others = PAPER_LISTS
    add = ("New paper", "authorization.edit", "authorization_add")
    empty = ("No paper yet", "Enter a permit, certificate or agreement from the paper in hand. “None is needed” is a paper too.", None)
    columns = (
        Column("Paper", "code", kind="code", url=lambda paper: reverse("authorization_detail", args=[paper.pk])),
        Column("State", "get_state_display", kind="state"),
        Column("Until", "ends_on", kind="date"),
        Column("Title", "title", wide=True),
        Column("Type", "get_type_display"),
        Column("Issuer", "issuer"),
        Column("From", "starts_on", kind="date"),
    )

    def get_queryset(self):
        self.today = timezone.localdate()
        return super().get_queryset()

    def get_columns(self, records):
        papers_on(records, self.today)
        return super().get_columns(records)

    def row_mark(self, paper):
        return paper_mark(paper, self.today)


class AuthorizationDetailView(RecordDetailView):
    model = Authorization
    action = "authorization.view"
    question = "What does this paper say, who holds it, and until when?"

    def get_title(self):
        return self.object.title

    def get_object(self, queryset=None):
        return paper_on(super().get_object(queryset), timezone.localdate())

    def get_page(self):
        paper, land = self.object, paper_land_parts(self.request.user, self.object)
        duties = duty_parts(self.request.user, paper)
        caps = cap_actions(paper)
        return {
            "code": paper.code,
            "state": paper.get_state_display(),
            "where": f"{paper.get_type_display()}, {paper.issuer}",
            "due": [*announced_duties(paper, timezone.localdate()), *authorization_duties(paper, timezone.localdate()), *duties["due"]],
            "cautions": [AUTHORITY_CAUTION],
            "actions": [
                *allowed(
                    self.request.user,
                    ("Change or amend the paper", "authorization.edit", reverse_to("authorization_edit", paper.pk)),
                    ("Set its state", "authorization.edit", reverse_to("authorization_state", paper.pk)),
                    ("Add a document", "authorization.edit", reverse_to("document_add", paper.pk)),
                    *caps,
                    ("Permit file", "permitfile.view", reverse_to("authorization_file", paper.pk)),
                ),
                *duties["actions"],
                *land["actions"],
            ],
            "facts": self.get_facts(),
            "parts": [
                *self.get_wording(), *land["parts"], *duties["parts"], self.documents_table(), self.draws_table(), self.states_table(),
                self.versions_table(), self.shipments_table(),
            ],
        }  # fmt: skip

    def get_facts(self):
        paper = self.object
        said = version_on(paper.versions.all(), timezone.localdate()) or paper.versions.first()
        holder = ", ".join(part for part in (paper.holder_body, paper.holder_person) if part)
        checked = f"{day_words(paper.verified_on)}, by {paper.verified_by or 'somebody not named'}" if paper.verified_on else "not yet"
        cap = f"{paper.cap_quantity:,} {paper.cap_unit}, {paper.drawn:,} of them drawn" if paper.cap_quantity is not None else ""
        partner_url = link(self.request.user, "partner.view", "partner_detail", paper.partner_id) if paper.partner_id else None
        facts = [
            ("Issuer", paper.issuer, None),
            ("Issuer's reference", paper.issuer_reference, None),
            ("Whom to ask there", paper.issuer_contact, None),
            ("Partner it is made with", str(paper.partner or ""), partner_url),
            ("Holder", holder, None),
            ("Bound to the address", paper.holder_address, None),
            ("If the holder leaves", "it goes on" if paper.transferable else "taken to end with the holder", None),
            ("Second contact", paper.second_contact, None),
            ("From", f"{day_words(paper.starts_on)}" if paper.starts_on else "", None),
            ("Until", f"{day_words(paper.ends_on)}" if paper.ends_on else "", None),
            ("Quantity at most", cap, None),
            *((label, words, None) for label, words in covers_words(said)),
            ("What it rests on", paper.basis, None),
            ("Checked with the issuer", checked, None),
            ("To be asked again by", f"{day_words(paper.review_by)}" if paper.review_by else "", None),
            ("Note", paper.note, None),
        ]
        return [fact for fact in facts if fact[1]]

    def get_wording(self):
        pairs = (("What it covers, as written", self.object.covers), ("Conditions, as written", self.object.conditions))
        return [{"title": title, "include": "registry/shared/_as_written.html", "text": text} for title, text in pairs if text]

    def documents_table(self):
        may_open = self.request.user.may("document.view")
        columns = (
            Column("Document", "title", url=(lambda document: reverse_to("document_file", document.pk)) if may_open else None),
            Column("Dated", "dated", kind="date"),
            Column("Kept on", "entered_at", kind="date"),
            Column("By", lambda document: str(document.entered_by or "")),
            Column("SHA-256, first digits", lambda document: document.file.sha256[:12], kind="code"),
        )
        documents = self.object.documents.select_related("file", "entered_by")[:PART_ROWS_MAX]
        empty = "No document is kept with it. The gate says so wherever this paper is needed."
        return ledger_table("Documents", columns, documents, unit="documents", empty=empty)

    def draws_table(self):
        columns = (
            Column("On", "on", kind="date"),
            Column("What", "get_kind_display"),
            Column("Shipment or planting", "subject", kind="code"),
            Column("Lot", lambda draw: draw.lot.code if draw.lot else "", kind="code"),
            Column(f"Quantity ({self.object.cap_unit or 'as counted'})", "quantity", "right", "number"),
            Column("Why", "reason"),
        )
        draws = self.object.draws.select_related("lot").order_by("-on", "-pk")[:PART_ROWS_MAX]
        return ledger_table("Drawn from its cap", columns, draws, unit="entries", empty="Nothing is drawn from it.")

    def states_table(self):
        columns = (
            Column("From", "on", kind="date"),
            Column("State", "get_state_display", kind="state"),
            Column("Why", "reason"),
            Column("Entered by", lambda record: str(record.entered_by or "taken over")),
        )
        return ledger_table("States", columns, self.object.state_history.select_related("entered_by"), unit="states")

    def versions_table(self):
        columns = (
            Column("Version", lambda version: "as issued" if version.number == 0 else f"amendment {version.number}"),
            Column("Says so from", "from_on", kind="date"),
            Column("In force from", "starts_on", kind="date"),
            Column("Until", "ends_on", kind="date"),
            Column("Cap", lambda v: f"{v.cap_quantity:,} {v.cap_unit}" if v.cap_quantity is not None else "", "right"),
            Column("What was amended", "reason"),
            Column("Entered by", lambda version: str(version.entered_by or "taken over")),
        )
        return ledger_table("Versions", columns, self.object.versions.select_related("entered_by"), unit="versions")

    def shipments_table(self):
        columns = (
            Column("Shipment", "code", kind="code", url=lambda shipment: reverse("shipment_detail", args=[shipment.pk])),
            Column("To", "receiver.name"),
            Column("State", "get_state_display", kind="state"),
            Column("Left on", "dispatched_on", kind="date"),
            Column("Quantity (seeds or plants)", "quantity", "right", "number"),
        )
        shipments = self.scoped(Shipment).for_list().filter(authorizations=self.object)[:PART_ROWS_MAX]
        return ledger_table("Shipments it is attached to", columns, shipments, unit="shipments", empty="It is attached to no shipment.")


class AuthorizationFormView(SectionFormView):
    model = Authorization
    action = "authorization.edit"
    form_class = AuthorizationForm
    question = "What does the paper in your hand say?"
    submit_label = "Save the paper"

    def get_title(self):
        return super().get_title() if self.record else "New paper"

    def get_cautions(self):
        return [AUTHORITY_CAUTION, *self.get_announced()]

    def get_announced(self):
        """The boxes hold the last version entered; where that is still to come, it is said."""
        last = self.record.versions.last() if self.record else None
        if last is None or last.from_on is None or last.from_on <= timezone.localdate():
            return []
        text = f"The boxes show what the paper will say from {day_words(last.from_on)}, as announced. Until then an earlier version holds."
        return [{"title": "An amendment is announced", "text": text}]

    def save(self, record, many, form):
        values = form.cleaned_data
        return authorization_save(
            actor=self.request.user,
            paper=record,
            limits=form.limits(),
            from_on=values.get("from_on"),
            reason=values.get("reason", ""),
            state=values["state"] if record.pk else None,
        )


class AuthorizationStateView(RecordActionView):
    model = Authorization
    action = "authorization.edit"
    form_class = AuthorizationStateForm
    submit_label = "Save the state"
    success_message = "The state is in the book."

    def get_title(self):
        return f"State of {self.object}"

    def get_initial(self):
        return {"state": paper_on(self.object, timezone.localdate()).state, "on": timezone.localdate()}

    def get_cautions(self):
        return [AUTHORITY_CAUTION]

    def perform(self, form):
        return authorization_state_set(actor=self.request.user, paper=self.object, **form.cleaned_data)


class DocumentAddView(RecordActionView):
    model = Authorization
    action = "authorization.edit"
    form_class = DocumentForm
    submit_label = "Keep the document"
    success_message = "The document is kept."

    def get_title(self):
        return f"Add a document to {self.object}"

    def perform(self, form):
        file = form.cleaned_data["file"]
        return document_add(
            actor=self.request.user, paper=self.object, content=file.read(), filename=file.name,
            title=form.cleaned_data["title"], dated=form.cleaned_data["dated"],
        )  # fmt: skip


class DocumentFileView(AccessMixin, View):
    """A kept document, as a download: the browser never opens what somebody else sent in."""

    action = "document.view"

    def get(self, request, pk):
        document = get_object_or_404(self.scoped(PaperDocument).select_related("file"), pk=pk)
        fault = file_fault(document.file)
        if fault:
            raise Http404(f"The document “{document.title}” cannot be handed out: {fault}. Take it from the backup.")
        response = file_response(file_content(document.file), document.file.content_type, document.file.filename)
        response["Cache-Control"] = "private, no-store"
        return response


class AuthorizationHoldersView(PageView):
    """What hangs on each person: what ends, or needs another name, when they leave."""

    action = "authorization.view"
    template_name = "registry/permits/holders.html"
    title = "Who holds what"
    question = "What hangs on a person, and what happens to it when they leave?"

    def get_page(self):
        people = held_by_people(timezone.localdate())
        columns = (
            Column("Paper", "paper.code", kind="code", url=lambda held: reverse("authorization_detail", args=[held.paper.pk])),
            Column("Title", "paper.title"),
            Column("State", "paper.get_state_display", kind="state"),
            Column("As", "part"),
            Column("When they leave", "then"),
        )
        return {"parts": [ledger_table(person.heading, columns, person.held, unit="papers", note=person.note) for person in people]}
