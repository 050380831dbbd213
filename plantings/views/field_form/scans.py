"""Photos and scans of filled-in field forms: sent in, and shown while somebody keys."""

from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext, gettext_lazy, ngettext
from django.views import View

from plantings.forms.field_form import FormScanForm
from plantings.models import CensusRound, FormScan
from plantings.selectors.field_form.pages import page_of_code
from plantings.services.field_form.scans import form_scans_add
from registry.access.views import AccessMixin
from registry.selectors.permits.documents import file_content, file_fault
from registry.views.shared.addresses import file_response, record_url, reverse_to
from registry.views.shared.forms import RecordActionView


class FormScanAddView(RecordActionView):
    model = CensusRound
    argument = "census_round"
    action = "census.enter"
    form_class = FormScanForm
    form_extras = property(lambda page: {"user": page.user, "census_round": page.object})
    service = form_scans_add
    initial = property(lambda page: {"page_code": page.request.GET.get("code", "")[:40]})
    question = gettext_lazy("Which pages did the crew fill in? They are shown above the grid while somebody keys them.")
    submit_label = gettext_lazy("Store the pages")

    @property
    def title(self):
        values = {"round": self.object.label, "planting": self.object.planting.code}
        return gettext("Photos of the field form: %(round)s, %(planting)s") % values

    @property
    def success_message(self):
        count = len(self.result)
        return ngettext("%(n)s file stored.", "%(n)s files stored.", count) % {"n": count}

    def perform(self, form):
        try:
            return super().perform(form)
        except ValidationError as error:
            if hasattr(error, "error_dict") and "file" in error.error_dict:  # the box of this form takes several
                raise ValidationError({"files": error.error_dict["file"]}) from None
            raise

    def get_success_url(self):
        page = page_of_code(self.user, self.request.POST.get("page_code", ""))
        return reverse_to("formpage_key", page.pk) if page else record_url(self.object)


class FormScanFileView(AccessMixin, View):
    """A picture is drawn by Mastbook itself, so the browser may show it; a PDF is a download."""

    action = "round.view"

    def get(self, request, pk):
        scan = get_object_or_404(self.scoped(FormScan).select_related("file"), pk=pk)
        if fault := file_fault(scan.file):
            raise Http404(f"The file of “{scan}” cannot be shown: {fault}. Restore it from the backup.")
        if scan.is_picture:
            return HttpResponse(file_content(scan.file), content_type=scan.file.content_type)
        return file_response(file_content(scan.file), scan.file.content_type, scan.file.filename)
