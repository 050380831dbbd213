"""Authorizations: permits, certificates, licences, notifications, consents, agreements."""

from django.urls import reverse
from django.utils import timezone

from registry.forms.filters import AuthorizationFilters
from registry.forms.papers import AuthorizationForm
from registry.imports.kinds import AuthorizationSheet
from registry.models import Authorization, Shipment
from registry.selectors.papers import authorization_duties, paper_mark
from registry.views.generic import RecordDetailView, RecordListView, reverse_to
from registry.views.movements import shipment_url
from registry.views.sections import PART_ROWS_MAX, SectionFormView, allowed
from registry.views.tables import Column, ledger_table

AUTHORITY_CAUTION = {
    "title": "Check with the local authority",
    "text": "The book keeps what the paper says. What it means for a movement or a planting is not decided here.",
}


class AuthorizationListView(RecordListView):
    model = Authorization
    action = "authorization.view"
    title = "Papers"
    question = "Which permits, certificates and agreements are there, and until when?"
    unit = "papers"
    sheet = AuthorizationSheet
    filter_form = AuthorizationFilters
    add = ("New paper", "authorization.edit", "authorization_add")
    empty = ("No paper yet", "Enter a permit, certificate or agreement from the paper in hand. “None is needed” is a paper too.", None)
    columns = (
        Column("Paper", "code", kind="code", url=lambda paper: reverse("authorization_detail", args=[paper.pk])),
        Column("Title", "title"),
        Column("Type", "get_type_display"),
        Column("Issuer", "issuer"),
        Column("State", "get_state_display", kind="state"),
        Column("From", "starts_on", kind="date"),
        Column("Until", "ends_on", kind="date"),
    )

    def get_queryset(self):
        self.today = timezone.localdate()
        return super().get_queryset()

    def row_mark(self, paper):
        return paper_mark(paper, self.today)


class AuthorizationDetailView(RecordDetailView):
    model = Authorization
    action = "authorization.view"
    template_name = "registry/cautioned_detail.html"
    question = "What does this paper say, who holds it, and until when?"

    def get_title(self):
        return self.object.title

    def get_page(self):
        paper = self.object
        return {
            "code": paper.code,
            "state": paper.get_state_display(),
            "where": f"{paper.get_type_display()}, {paper.issuer}",
            "due": authorization_duties(paper, timezone.localdate()),
            "cautions": [AUTHORITY_CAUTION],
            "actions": allowed(self.request.user, ("Change the paper", "authorization.edit", reverse_to("authorization_edit", paper.pk))),
            "facts": self.get_facts(),
            "parts": [*self.get_wording(), self.shipments_table()],
        }

    def get_facts(self):
        paper = self.object
        return [
            ("Issuer", paper.issuer, None),
            ("Issuer's reference", paper.issuer_reference, None),
            ("Holder", ", ".join(part for part in (paper.holder_body, paper.holder_person) if part), None),
            ("Quantity at most", f"{paper.cap_quantity:,} {paper.cap_unit}" if paper.cap_quantity is not None else "", None),
            ("From", f"{paper.starts_on:%-d %b %Y}" if paper.starts_on else "", None),
            ("Until", f"{paper.ends_on:%-d %b %Y}" if paper.ends_on else "", None),
            ("Note", paper.note, None),
        ]

    def get_wording(self):
        pairs = (("What it covers, as written", self.object.covers), ("Conditions, as written", self.object.conditions))
        return [{"title": title, "include": "registry/_as_written.html", "text": text} for title, text in pairs if text]

    def shipments_table(self):
        columns = (
            Column("Shipment", "code", kind="code", url=shipment_url),
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
        return [AUTHORITY_CAUTION]
