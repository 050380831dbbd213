"""Prints of lots, and the list of the prints that were made."""

from registry.choices import IssuedKind
from registry.forms.prints.issued import CONTAINERS_MAX, ContainerLabelForm, IssuedPrintFilters
from registry.models import IssuedPrint, Lot
from registry.prints.labels import container_labels, draw_labels
from registry.selectors.identity.prints import identity_document
from registry.selectors.lots.harvests import containers_picked
from registry.selectors.lots.prints import container_label, life_document
from registry.selectors.prints.issued import prints_of
from registry.views.prints.print_view import PrintView
from registry.views.shared.details import RecordDetailView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link

_COLUMNS = (
    Column("Print", "title", url=Link("issuedprint_detail"), wide=True),
    Column("Kind", "get_kind_display"),
    Column("Made on", "entered_at", kind="date"),
    Column("By", "entered_by", kind="soft"),
)
# the prints made of a lot or a shipment
PRINTS = Section(
    title="Prints",
    unit="prints",
    id="prints",
    may="issued.view",
    note="The files themselves are not stored. The SHA-256 of each tells whether a copy is the one that was made.",
    rows=lambda page: prints_of(page.object),
    columns=_COLUMNS,
)
LOT_PRINTS = (
    Action("Print container labels", "lot_labels", "print.make"),
    Action("Print its history", "lot_life", "lot.view"),
    Action("Print a draft for a certificate of identity", "lot_identity_draft", "print.make"),
)


class IssuedPrintListView(RecordListView):
    model = IssuedPrint
    action = "issued.view"
    title = "Prints"
    question = "What was printed about which lot or shipment, when, and by whom?"
    unit = "prints"
    filter_form = IssuedPrintFilters
    others = (("Papers", "authorization.view", "authorization_list"), ("Long jobs", "job.view", "job_list"))
    empty = ("No print yet", "Labels, packing lists and drafts are made on the page of their lot or shipment.", None)
    related = ("entered_by",)
    columns = (*_COLUMNS, Column("File", "filename", kind="soft"))


def _records(title, manager, route, may):
    """The records of one type that a print names."""
    return Section(
        title=title,
        unit="records",
        rows=lambda page: getattr(page.object, manager).all(),
        columns=(Column("Code", "code", kind="code", url=Link(route, may=may)),),
    )


class IssuedPrintDetailView(RecordDetailView):
    model = IssuedPrint
    action = "issued.view"
    question = "Which records does this print name, and is a copy of it the one that was made?"
    state = "get_kind_display"
    facts = (
        Fact("Made", "entered_at"),
        Fact("By", "entered_by"),
        Fact("File", "filename"),
        Fact("Size", lambda page: f"{page.object.size_bytes:,} bytes"),
        Fact("SHA-256", "sha256"),
    )
    sections = (
        _records("Lots", "lots", "lot_detail", "lot.view"),
        _records("Shipments", "shipments", "shipment_detail", "shipment.view"),
        _records("Trees of the pedigree", "trees", "pedigreetree_detail", "pedigree.view"),
        _records("Papers", "authorizations", "authorization_detail", "authorization.view"),
    )


class LotPrintView(PrintView):
    model = Lot

    def get_links(self):
        return {"lots": [self.object]}


class LotLabelsView(LotPrintView):
    action = "print.make"
    kind = IssuedKind.LABELS
    form_class = ContainerLabelForm
    question = "How many containers hold this lot? Each gets two labels, one to lie in it and one to stick on it."
    submit_label = "Make the labels"
    title = "Container labels of {object.code}"

    label = property(lambda page: container_label(page.object, page.scan(page.object.code)))

    @property
    def initial(self):
        picked = min(containers_picked(self.object), CONTAINERS_MAX)
        return {"containers": picked} if picked else {}

    def draw(self, form):
        data = form.cleaned_data
        labels = container_labels(self.label, data["containers"])
        return draw_labels(labels, data["sheet"], start=data["start"], edges=data["edges"], title=self.get_title(), made_on=self.today)

    def get_shown(self):
        return {"code": self.object.code, "parts": [label_part(self.label)]}


def label_part(label):
    """What a label says, as a part of a page."""
    alerts = [{"title": alert} for alert in label.alerts]
    lines = [label.title, *(line for line in label.lines if line)]
    return {
        "title": "What each label says",
        "include": "registry/prints/_print_label.html",
        "cautions": alerts,
        "label": label,
        "lines": lines,
    }


class LotLifeView(LotPrintView):
    action = "lot.view"
    kind = IssuedKind.LOT_LIFE
    drawn_by = life_document
    question = "Where did this lot come from, what was done with it, and where did it go?"


class LotIdentityDraftView(LotPrintView):
    action = "print.make"
    kind = IssuedKind.IDENTITY_DRAFT
    drawn_by = identity_document
    question = "What do our records say for an application for a certificate of identity?"

    def document_values(self):
        return super().document_values() | {"sender": self.get_sender()}
