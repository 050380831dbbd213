"""A stored file of a record, as a download: the browser never opens what somebody else sent in."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.views import View

from registry.access.views import AccessMixin
from registry.selectors.permits.documents import file_content, file_fault
from registry.views.shared.addresses import file_response


class StoredFileView(AccessMixin, View):
    """Declare `model`: a record type with a `file`."""

    action = "document.view"
    model = None

    def get(self, request, pk):
        record = get_object_or_404(self.scoped(self.model).select_related("file").filter(file__isnull=False), pk=pk)
        fault = file_fault(record.file)
        if fault:
            raise Http404(f"The file of “{record}” cannot be downloaded: {fault}. Restore it from the backup.")
        return file_response(file_content(record.file), record.file.content_type, record.file.filename)
