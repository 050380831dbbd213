"""Authorizations: permits, certificates, licences, notifications, consents, agreements."""

from functools import partial

from django.utils.functional import cached_property

from registry.calc.shared.screen import day_words
from registry.forms.permits.authorizations import AuthorizationForm, AuthorizationStateForm, DocumentForm
from registry.forms.shared.filters import AuthorizationFilters
from registry.imports.kinds import AuthorizationSheet
from registry.models import Authorization, PaperDocument, Shipment
from registry.selectors.movements.shared_papers import shared_paper_duties
from registry.selectors.permits.as_of import last_version, paper_on, papers_on, version_on
from registry.selectors.permits.authorizations import (
    PAPER_FACTS,
    announced_duties,
    authorization_duties,
    held_by_people,
    paper_mark,
    wording_duties,
)
from registry.selectors.permits.covers import COVERS
from registry.services.permits.authorizations import authorization_save, authorization_state_set, document_add
from registry.views.duties.paper_sections import CLOCKS, DUTIES, INCIDENTS, REPORT_INCIDENT, PaperDuties
from registry.views.gate.declared_facts import declared_facts
from registry.views.gate.draws import CAP_ACTIONS
from registry.views.land.sections import PAPER_SIGNATURES, SIGN
from registry.views.permits.stored_file import StoredFileView
from registry.views.permits.words import AUTHORITY_CAUTION, PAPER_LISTS
from registry.views.shared.addresses import link
from registry.views.shared.details import PART_ROWS_MAX, PageView, RecordDetailView
from registry.views.shared.forms import RecordActionView, RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section, as_written
from registry.views.shared.tables import Column, Link, ledger_table


class AuthorizationListView(RecordListView):
    model = Authorization
    action = "authorization.view"
    title = "Papers"
    question = "Which permits, certificates and agreements are there, and until when?"
    unit = "papers"
    sheet = AuthorizationSheet
    filter_form = AuthorizationFilters
    others = PAPER_LISTS
    add = ("New paper", "authorization.edit", "authorization_add")
    empty = ("No papers yet", "Enter a permit, certificate or agreement from the document itself. “None is needed” is a paper too.", None)
    columns = (
        Column("Paper", "code", kind="code", url=Link("authorization_detail")),
        Column("State", "get_state_display", kind="state"),
        Column("Until", "ends_on", kind="date"),
        Column("Title", "title", wide=True),
        Column("Type", "get_type_display"),
        Column("Issuer", "issuer"),
        Column("From", "starts_on", kind="date"),
    )

    def lines(self, records):
        return papers_on(records, self.today)

    def row_mark(self, paper):
        return paper_mark(paper, self.today)


ADD_DOCUMENT = Action("Add a document", "document_add", "authorization.edit")
CAP_DRAWS = Section(
    title="Drawn from its cap",
    unit="entries",
    rows=lambda page: page.object.draws.select_related("lot").order_by("-on", "-pk"),
    most=PART_ROWS_MAX,
    columns=lambda page, draws: (
        Column("On", "on", kind="date"),
        Column("What", "get_kind_display"),
        Column("Shipment or planting", "subject", kind="code"),
        Column("Lot", "lot.code", kind="code"),
        Column(f"Quantity ({page.object.cap_unit or 'as counted'})", "quantity", "right", "number"),
        Column("Why", "reason", wide=True),
    ),
)
DOCUMENTS = Section(
    title="Documents",
    unit="documents",
    rows=lambda page: page.object.documents.select_related("file", "entered_by"),
    most=PART_ROWS_MAX,
    columns=(
        Column("Document", "title", url=Link("document_file", may="document.view"), wide=True),
        Column("Dated", "dated", kind="date"),
        Column("Added on", "entered_at", kind="date"),
        Column("By", lambda document: str(document.entered_by or "")),
        Column("SHA-256, first digits", lambda document: document.file.sha256[:12], kind="code"),
    ),
    missing="documents (the gate points it out wherever this paper is needed)",
    add=ADD_DOCUMENT,
)
STATES = Section(
    title="States",
    unit="states",
    rows=lambda page: page.object.state_history.select_related("entered_by"),
    columns=(
        Column("From", "on", kind="date"),
        Column("State", "get_state_display", kind="state"),
        Column("Why", "reason", wide=True),
        Column("Entered by", lambda record: str(record.entered_by or "taken over")),
    ),
)
VERSIONS = Section(
    title="Versions",
    unit="versions",
    rows=lambda page: page.versions,
    columns=(
        Column("Version", lambda version: "as issued" if version.number == 0 else f"amendment {version.number}"),
        Column("Holds from", "from_on", kind="date"),
        Column("In force from", "starts_on", kind="date"),
        Column("Until", "ends_on", kind="date"),
        Column("Cap", lambda v: f"{v.cap_quantity:,} {v.cap_unit}" if v.cap_quantity is not None else "", "right"),
        Column("What was amended", "reason", wide=True),
        Column("Entered by", lambda version: str(version.entered_by or "taken over")),
    ),
)
SHIPMENTS = Section(
    title="Shipments with this paper",
    unit="shipments",
    rows=lambda page: page.scoped(Shipment).for_list().filter(authorizations=page.object),
    most=PART_ROWS_MAX,
    columns=(
        Column("Shipment", "code", kind="code", url=Link("shipment_detail")),
        Column("To", "receiver.name", wide=True),
        Column("State", "get_state_display", kind="state"),
        Column("Left on", "dispatched_on", kind="date"),
        Column("Quantity (seeds or plants)", "quantity", "right", "number"),
    ),
    missing="shipments",
)


def _of_paper(value, page):
    return value(page.object, page.today)


class AuthorizationDetailView(PaperDuties, RecordDetailView):
    model = Authorization
    action = "authorization.view"
    question = "What does this paper say, who holds it, and until when?"
    related = ("partner",)
    state = "get_state_display"
    title = "{object.title}"
    where = property(lambda page: f"{page.object.get_type_display()}, {page.object.issuer}")
    cautions = (AUTHORITY_CAUTION,)
    facts = (
        *(Fact(label, partial(_of_paper, value)) for label, value in PAPER_FACTS),
        Fact("Partner", "partner", lambda page: link(page.user, "partner.view", "partner_detail", page.object.partner_id)),
        *declared_facts(COVERS, lambda page: page.said),
        Fact("Note", "note"),
    )
    actions = (
        Action("Change or amend the paper", "authorization_edit", "authorization.edit"),
        Action("Set its state", "authorization_state", "authorization.edit"),
        ADD_DOCUMENT,
        Action("Permit file", "authorization_file", "permitfile.view"),
        SIGN,
        *CAP_ACTIONS,
        Action("Duties and clocks", "authorization_duties", "duty.view"),
        REPORT_INCIDENT,
    )
    sections = (
        as_written("What it covers, as written", "covers"),
        as_written("Conditions, as written", "conditions"),
        PAPER_SIGNATURES,
        DUTIES,
        CLOCKS,
        INCIDENTS,
        DOCUMENTS,
        CAP_DRAWS,
        STATES,
        VERSIONS,
        SHIPMENTS,
    )

    versions = cached_property(lambda page: list(page.object.versions.select_related("entered_by")))

    def get_object(self, queryset=None):
        return paper_on(super().get_object(queryset), self.today)

    @property
    def said(self):
        """The version that holds today; the first one where none has begun."""
        return version_on(self.versions, self.today) or next(iter(self.versions), None)

    def get_due(self):
        by_day = (*announced_duties(self.object, self.today), *authorization_duties(self.object, self.today))
        return [*by_day, *self.get_shared(), *wording_duties(self.object, self.said), *self.duty_lines]

    def get_shared(self):
        """Drafts of shipments for which it is not enough; of a paper without a cap nothing is read."""
        can_run_out = self.object.one_consignment or any(version.cap_quantity is not None for version in self.versions)
        return shared_paper_duties([self.object], self.today) if can_run_out and self.may("shipment.view") else []


class AuthorizationFormView(RecordFormView):
    model = Authorization
    action = "authorization.edit"
    form_class = AuthorizationForm
    service = authorization_save
    argument = "paper"
    new_title = "New paper"
    question = "What does the paper in your hand say?"
    submit_label = "Save the paper"
    success_message = "Paper saved."
    cautions = property(lambda page: [AUTHORITY_CAUTION, *page.get_announced()])

    def get_announced(self):
        """The boxes hold the last version entered. Where that one is still to come, a caution says so."""
        last = last_version(self.record.versions.all()) if self.record else None
        if last is None or last.from_on is None or last.from_on <= self.today:
            return []
        text = f"The boxes show what the paper will say from {day_words(last.from_on)}. Until then an earlier version applies."
        return [{"title": "An amendment is announced", "text": text}]

    def values(self, form):
        values = form.cleaned_data
        state = values["state"] if form.instance.pk else None
        return {"limits": form.limits(), "from_on": values.get("from_on"), "reason": values.get("reason", ""), "state": state}


class AuthorizationStateView(RecordActionView):
    model = Authorization
    action = "authorization.edit"
    form_class = AuthorizationStateForm
    service = authorization_state_set
    argument = "paper"
    title = "State of {object}"
    submit_label = "Save the state"
    success_message = "State saved."
    cautions = (AUTHORITY_CAUTION,)
    initial = property(lambda page: {"state": paper_on(page.object, page.today).state, "on": page.today})


class DocumentAddView(RecordActionView):
    model = Authorization
    action = "authorization.edit"
    form_class = DocumentForm
    service = document_add
    argument = "paper"
    title = "Add a document to {object}"
    submit_label = "Add the document"
    success_message = "Document added."


class DocumentFileView(StoredFileView):
    model = PaperDocument


class AuthorizationHoldersView(PageView):
    """What each person holds: the papers that end, or need another name, when they leave."""

    action = "authorization.view"
    template_name = "registry/permits/holders.html"
    title = "Who holds what"
    question = "What is this person responsible for, and what happens to it when they leave?"
    columns = (
        Column("Paper", "paper.code", kind="code", url=Link("authorization_detail", "paper.pk")),
        Column("Title", "paper.title", wide=True),
        Column("State", "paper.get_state_display", kind="state"),
        Column("As", "part"),
        Column("When they leave", "then"),
    )

    def get_page(self):
        people = held_by_people(self.today)
        return {"parts": [ledger_table(person.heading, self.columns, person.held, unit="papers", note=person.note) for person in people]}
