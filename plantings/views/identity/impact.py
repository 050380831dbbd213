"""What a tree, lot, pollen pool or shipment affects: counted, listed, and as the sheet that letters are written from."""

from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse

from plantings.selectors.identity.letters import CONTACT_HEADERS, letters_headers, letters_rows, open_questions
from plantings.selectors.identity.trace import ROWS_SHOWN, record_impact
from plantings.views.overview.today import trace_table
from registry.choices import IssuedKind
from registry.imports.sheets.formats import CONTENT_TYPES, write_rows
from registry.models import Lot, PedigreeTree, PollenPool, Shipment
from registry.selectors.duties.duty_line import Duty
from registry.selectors.identity.questions import RULE
from registry.services.prints.issued import print_record
from registry.views.shared.addresses import allowed, file_response, record_url
from registry.views.shared.details import PageView
from registry.views.shared.downloads import known_format, rows_response

KINDS = {model._meta.model_name: model for model in (PedigreeTree, Lot, PollenPool, Shipment)}

_NAMED_IN_PRINTS = {PedigreeTree: "trees", Lot: "lots", Shipment: "shipments"}


class ImpactView(PageView):
    action = "identity.view"
    template_name = "plantings/identity/impact.html"
    question = "If its identity is wrong: who has it, where is it planted, and which papers and prints name it?"

    def find_rows(self):
        if self.kwargs["kind"] not in KINDS:
            raise Http404("Only a tree of the pedigree, a lot, a pollen pool or a shipment has this page.")
        self.record = get_object_or_404(self.scoped(KINDS[self.kwargs["kind"]]), pk=self.kwargs["pk"])

    def get(self, request, *args, **kwargs):
        wanted = request.GET.get("download")
        return self.impact_sheet(wanted) if wanted else super().get(request, *args, **kwargs)

    def post(self, request, *args, **kwargs):
        """Hand out the sheet for letters. Like every print that leaves the office it is recorded, so a link will not do."""
        if not request.user.may("print.make"):
            raise PermissionDenied
        return self.letters_sheet(known_format(request.POST.get("letters")))

    def impact_sheet(self, wanted):
        groups = record_impact(self.user, self.record, rows_max=None)
        rows = [(group.kind, row.code, row.what) for group in groups for row in group.rows]
        return rows_response(["Kind", "Code", "What"], rows, f"impact-{self.record.code}", wanted)

    def letters_sheet(self, wanted):
        user, record = self.user, self.record
        content = write_rows(letters_headers(user), letters_rows(user, record), wanted)
        filename = f"letters-{record.code}.{wanted}"
        named = {name: [record] for model, name in _NAMED_IN_PRINTS.items() if isinstance(record, model)}
        title = f"Sheet for letters about {record._meta.verbose_name} {record}"
        print_record(actor=user, kind=IssuedKind.LETTERS, title=title, filename=filename, content=content, **named)
        return file_response(content, CONTENT_TYPES[wanted], filename)

    def get_page(self):
        user, record = self.user, self.record
        groups = record_impact(user, record, ROWS_SHOWN)
        questions = open_questions(record)
        return {
            "title": f"What {record} affects",
            "code": record.code,
            "where": record._meta.verbose_name,
            "url": record_url(record),
            "due": [_line(question) for question in questions],
            "actions": self.get_actions(questions),
            "counts": [
                (group.title, group.words if group.kind == "trees" else f"{group.total:,}", f"#{_anchor(group)}") for group in groups
            ],
            "parts": [trace_table(group) | {"id": _anchor(group)} for group in groups],
            "downloads": [(wanted.upper(), f"?download={wanted}") for wanted in CONTENT_TYPES],
            "letters": [(wanted.upper(), wanted) for wanted in CONTENT_TYPES] if user.may("print.make") else [],
            "left_out": "" if user.may("partner.contact") else ", ".join(CONTACT_HEADERS).lower(),
            "rule": RULE,
        }

    def get_actions(self, questions):
        """Marking, for a record that can be in question and is not yet."""
        record = self.record
        if isinstance(record, Shipment) or any(question.about == record for question in questions):
            return []
        url = reverse("identityquestion_add", args=[record._meta.model_name, record.pk])
        return allowed(self.user, ("Mark in question", "question.raise", url))


def _line(question):
    about = f"{question.about._meta.verbose_name} {question.about}"
    return Duty("odd", f"Identity of {about} in question: {question.reason}", question.raised_on, record_url(question))


def _anchor(group):
    return group.title.lower().replace(" ", "-")
