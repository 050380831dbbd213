"""The page a print is made on: it shows what will be printed. The file is made, and recorded, only by its button."""

import re

from django.core.exceptions import PermissionDenied
from django.utils.functional import cached_property
from django.utils.translation import gettext, gettext_lazy

from registry.forms.prints.issued import PageForm
from registry.prints.document import Alert, Banner, ByHand, Facts, Map, Notes, Picture, Plan, Table
from registry.prints.pages import draw_document
from registry.prints.qr import PrintError
from registry.selectors.people.programme import programme_address
from registry.selectors.shared.local_words import local_day
from registry.services.prints.issued import print_record
from registry.templatetags.addresses import find_address, leads_here_only
from registry.views.shared.addresses import file_response
from registry.views.shared.forms import RecordActionView
from registry.views.shared.tables import Column, ledger_table

ONLY_HERE = gettext_lazy(
    "The address you use for Mastbook works on this computer only, so the QR codes hold just the code: type it into the box at the "
    "top. Open Mastbook at the address phones use, and the QR codes will hold that address."
)


def scan_texts(request, code):
    """What a QR code may hold, the best first: the address that opens the record, then the code alone.

    Only the code where the address of Mastbook works on this computer alone: no phone could follow it.
    """
    return (code,) if leads_here_only(request) else (find_address(request, code), code)


class PrintView(RecordActionView):
    """A print of one record. `action` opens the page; making the file needs "print.make" as well, and is recorded.

    Declare `kind` (a code of `IssuedKind`) and `drawn_by`, the selector that makes its `Document` of the record, or override `draw` for a
    print that is not a document. With
    `recorded` false it is a form to fill in by hand: whoever may open the page may make it, and nothing is recorded.
    """

    template_name = "registry/prints/print.html"
    form_class = PageForm
    submit_label = "Make the PDF"
    drawn_by = None
    kind = ""
    recorded = True
    title = property(lambda page: page.document.title)

    made = property(lambda page: gettext("made %(day)s by %(who)s") % {"day": local_day(page.today), "who": page.user})

    def may_make(self):
        return not self.recorded or self.may("print.make")

    def post(self, request, *args, **kwargs):
        if not self.may_make():
            raise PermissionDenied
        return super().post(request, *args, **kwargs)

    def get_document(self):
        return type(self).drawn_by(self.object, **self.document_values())

    def document_values(self):
        """What a document is made with, besides the record."""
        return {"scan": self.scan(self.object.code), "made_on": self.today, "made": self.made}

    def get_sender(self):
        """The programme, if its name and address are set, and the person responsible for the print."""
        user = self.user
        return ", ".join(part for part in (programme_address(), str(user), user.phone) if part)

    def get_links(self):
        """The records the print names: any of lots, shipments, trees, authorizations."""
        return {}

    def record(self, **said):
        """Record that the print was made."""
        print_record(actor=self.user, kind=self.kind, **said)

    document = cached_property(lambda page: page.get_document())

    def scan(self, code):
        return scan_texts(self.request, code)

    def draw(self, form):
        return draw_document(self.document, form.cleaned_data["page"])

    def form_valid(self, form):
        try:
            content = self.draw(form)
        except PrintError as error:
            form.add_error(None, str(error))
            return self.form_invalid(form)
        filename = file_name(self.kind, str(self.object))
        if self.recorded:
            self.record(title=self.get_title(), filename=filename, content=content, **self.get_links())
        return file_response(content, "application/pdf", filename)

    def get_page(self):
        notes = {"notes": [ONLY_HERE]} if leads_here_only(self.request) else {}
        return self.get_shown() | notes | {"may_make": self.may_make(), "recorded": self.recorded}

    def get_shown(self):
        """What the page shows of the print."""
        document = self.document
        return {
            "code": document.code,
            "where": document.subtitle,
            "draft": document.draft,
            "parts": [shown(part) for part in document.parts],
        }


def file_name(kind, code):
    """'packing-list-SH-26-014.pdf': only characters any file system takes."""
    plain = re.sub(r"[^\w.]+", "-", f"{kind}-{code}".replace("_", "-")).strip("-.")
    return f"{plain[:150]}.pdf"


def shown(part):
    """A part of a print as a part of a page."""
    return _SHOWN[type(part)](part)


def _facts(part):
    rows = [(label, value or part.blank, bool(value)) for label, value in part.rows]
    return {"title": part.title, "note": part.note, "include": "registry/prints/_print_facts.html", "facts": rows}


def _table(part):
    columns = [
        Column(column.label, lambda row, place=place: row[place], column.align, {"code": "code", "latin": "latin"}.get(column.face))
        for place, column in enumerate(part.columns)
    ]
    return ledger_table(part.title, columns, part.rows, note=part.note, empty=part.empty) | {"count": None}


def _alert(part):
    return {"title": "", "include": "partials/safety/_caution.html", "caution": {"title": part.title, "lines": part.lines}}


def _banner(part):
    return {"title": "", "include": "partials/safety/_caution.html", "caution": {"title": part.text}}


def _notes(part):
    return {"title": part.title, "include": "registry/prints/_print_notes.html", "lines": part.lines}


def _by_hand(part):
    return {"title": gettext("By hand"), "include": "registry/prints/_print_by_hand.html", "labels": part.labels}


def _map(part):
    return {"title": part.title, "include": "registry/prints/_print_notes.html", "lines": (*part.key, part.note)}


def _plan(part):
    lines = (part.note, *(": ".join(filter(None, (panel.name, panel.first))) for panel in part.panels))
    return {"title": part.title, "include": "registry/prints/_print_notes.html", "lines": lines}


def _picture(part):
    shapes = [(type(shape).__name__, shape, _points(shape), f"{1 - shape.gray:.2f}") for shape in part.shapes]
    return {"title": part.title, "include": "registry/prints/_print_picture.html", "picture": part, "shapes": shapes}


def _points(shape):
    return " ".join(f"{x:g},{y:g}" for x, y in getattr(shape, "points", ()))


_SHOWN = {
    Facts: _facts, Table: _table, Alert: _alert, Banner: _banner, Notes: _notes, ByHand: _by_hand, Map: _map, Plan: _plan,
    Picture: _picture,
}  # fmt: skip
