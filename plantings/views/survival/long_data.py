"""The records behind survival to take home: long data with its dictionary and two scripts that repeat the table."""

import tempfile
from contextlib import ExitStack

from django.http import FileResponse, Http404
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from plantings.exports.long_data import TooManyRows, long_workbook, long_zip
from plantings.forms.survival.filters import LongDataFilters
from plantings.selectors.survival.long_data import long_data
from plantings.views.survival.filtered import FilteredResults, not_complete_lines
from registry.calc.shared.iso import iso_day
from registry.imports.sheets.formats import CONTENT_TYPES
from registry.views.shared.downloads import download_links
from registry.views.shared.tables import Column, ledger_table

_DICTIONARY = (
    Column(_("Column"), "name", kind="code"), Column(_("Meaning"), "meaning", wide=True), Column(_("Type"), "type"),
    Column(_("Unit"), "unit"), Column(_("Codes"), "codes"),
)  # fmt: skip


class LongDataView(FilteredResults):
    action = "survival.data"
    template_name = "plantings/survival/long_data.html"
    form_class = LongDataFilters
    title = _("Data, tree by tree")
    question = _("What was recorded of each tree at each census, to compute with elsewhere?")

    def get_table(self):
        return long_data(self.user, self.form.limits)

    def download(self, wanted):
        if wanted not in ("zip", "xlsx"):
            raise Http404("Mastbook does not write that format. Choose zip or xlsx.")
        data = self.get_table()
        with ExitStack() as stack:
            target = stack.enter_context(tempfile.TemporaryFile())
            if wanted == "zip":
                kind = "application/zip"
                long_zip(target, data, self.chosen["level"], list(map(str, self.filters_used())), timezone.localtime())
            else:
                kind = CONTENT_TYPES["xlsx"]
                try:
                    long_workbook(target, data)
                except TooManyRows as error:
                    self.problems = [str(error)]
                    return self.render_to_response(self.get_context_data())
            target.seek(0)
            stack.pop_all()  # from here on the response closes it
        return FileResponse(target, as_attachment=True, filename=f"survival-data-{iso_day(data.as_of)}.{wanted}", content_type=kind)

    def get_page(self):
        table = self.get_table()
        links = {words: url.replace("download=csv", "download=zip") for words, url in download_links(self.request.GET)}
        return {
            "table": table,
            "not_complete": not_complete_lines(table),
            "downloads": [("ZIP", links["CSV"]), ("XLSX", links["XLSX"])],
            "dictionary": ledger_table(_("What each column is"), _DICTIONARY, table.columns, unit="columns"),
        }
