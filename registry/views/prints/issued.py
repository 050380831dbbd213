"""Papers of lots to print, and the list of papers that were handed out."""

from registry.calc.shared.screen import moment_words
from registry.choices import IssuedKind
from registry.forms.prints.issued import ContainerLabelForm, IssuedPaperFilters
from registry.models import IssuedPaper, Lot
from registry.prints.labels import container_labels, draw_labels
from registry.selectors.identity.prints import identity_document
from registry.selectors.lots.prints import container_label, life_document
from registry.selectors.prints.issued import papers_issued
from registry.views.prints.print_view import PaperView
from registry.views.shared.generic import RecordDetailView, reverse_to
from registry.views.shared.section_views import SectionListView, allowed, link
from registry.views.shared.sections import Action, Section
from registry.views.shared.tables import Column, ledger_table


def issued_url(paper):
    return reverse_to("issuedpaper_detail", paper.pk)


# what can be printed of a lot
LOT_PRINTS = (
    Action(label="Print container labels", route="lot_labels", may="paper.issue"),
    Action(label="Print the life of the lot", route="lot_life", may="lot.view"),
    Action(label="Draft for a certificate of identity", route="lot_identity_draft", may="paper.issue"),
)


def shipment_paper_actions(user, shipment):
    """The (label, url) of the papers that can be made of a shipment besides its packing list, as far as this person may."""
    return allowed(user, ("Draft for a phytosanitary certificate", "paper.issue", reverse_to("shipment_health_draft", shipment.pk)))


def issued_part(user, record, actions=()):
    """The papers handed out about a lot or a shipment, as a part of its page; nothing for somebody who may not see them."""
    if not user.may("issued.view"):
        return []
    note = "What was printed and when. The file is not kept; its SHA-256 tells whether a copy is the one handed out."
    table = ledger_table("Papers made", _PART_COLUMNS, papers_issued(record), unit="papers", note=note, empty="No paper made yet.")
    return [table | {"id": "papers", "actions": list(actions)}]


_PART_COLUMNS = (
    Column("Paper", "title", url=issued_url),
    Column("Kind", "get_kind_display"),
    Column("Made", "entered_at", kind="date"),
    Column("By", "entered_by", kind="soft"),
)


PRINTS_MADE = Section(
    id="prints",
    title="Prints made",
    unit="prints",
    may="issued.view",
    note="What was printed and when. The site does not store the file; its SHA-256 shows whether a copy is the one handed out.",
    rows=lambda page: papers_issued(page.object),
    columns=_PART_COLUMNS,
    missing="prints",
)


class IssuedPaperListView(SectionListView):
    model = IssuedPaper
    action = "issued.view"
    title = "Papers handed out"
    question = "What was printed about which lot or shipment, when, and by whom?"
    unit = "papers"
    filter_form = IssuedPaperFilters
    others = (("Papers", "authorization.view", "authorization_list"),)
    empty = ("No paper made yet", "Labels, packing lists and drafts are made on the page of their lot or shipment.", None)
    columns = (*_PART_COLUMNS, Column("File", "filename", kind="soft"))

    def get_queryset(self):
        return super().get_queryset().select_related("entered_by")


class IssuedPaperDetailView(RecordDetailView):
    model = IssuedPaper
    action = "issued.view"
    question = "Which records does this paper speak of, and is a copy of it the one handed out?"

    def get_page(self):
        paper, user = self.object, self.request.user
        return {
            "state": paper.get_kind_display(),
            "facts": [
                ("Made", f"{moment_words(paper.entered_at)}", None),
                ("By", str(paper.entered_by or ""), None),
                ("File", paper.filename, None),
                ("Size", f"{paper.size_bytes:,} bytes", None),
                ("SHA-256", paper.sha256, None),
            ],
            "parts": [
                part
                for part in (
                    self.linked("Lots", paper.lots, "lot.view", "lot_detail"),
                    self.linked("Shipments", paper.shipments, "shipment.view", "shipment_detail"),
                    self.linked("Trees of the pedigree", paper.trees, "pedigree.view", "pedigreetree_detail"),
                    self.linked("Papers", paper.authorizations, "authorization.view", "authorization_detail"),
                )
                if part["rows"] and user.may("issued.view")
            ],
        }

    def linked(self, title, manager, action, route):
        user = self.request.user
        column = Column("Code", "code", kind="code", url=lambda record: link(user, action, route, record.pk))
        return ledger_table(title, [column], manager.all(), unit="records")


class LotPaperView(PaperView):
    model = Lot

    def get_links(self):
        return {"lots": [self.object]}


class LotLabelsView(LotPaperView):
    action = "paper.issue"
    kind = IssuedKind.LABELS
    form_class = ContainerLabelForm
    question = "How many containers hold this lot? Each gets two labels, one to lie in it and one to stick on it."
    submit_label = "Make the labels"

    def get_title(self):
        return f"Container labels of {self.object.code}"

    def draw(self, form):
        data = form.cleaned_data
        labels = container_labels(self.label, data["containers"])
        return draw_labels(labels, data["sheet"], start=data["start"], edges=data["edges"], title=self.get_title(), made_on=self.today)

    @property
    def label(self):
        return container_label(self.object, self.scan(self.object.code))

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


class LotLifeView(LotPaperView):
    action = "lot.view"
    kind = IssuedKind.LOT_LIFE
    question = "Where did this lot come from, what was done with it, and where did it go?"

    def get_document(self):
        return life_document(self.object, scan=self.scan(self.object.code), made_on=self.today, made=self.made)


class LotIdentityDraftView(LotPaperView):
    action = "paper.issue"
    kind = IssuedKind.IDENTITY_DRAFT
    question = "What does the book know of what an application for a certificate of identity asks?"

    def get_document(self):
        return identity_document(
            self.object, supplier=self.get_sender(), scan=self.scan(self.object.code), made_on=self.today, made=self.made
        )
