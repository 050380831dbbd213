"""The records behind survival to take home: long data with its dictionary and two scripts that repeat the table."""

from django.http import Http404
from django.utils import timezone
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _

from plantings.exports.long_data import long_workbook, long_zip
from plantings.forms.survival.filters import LongDataFilters
from plantings.selectors.survival.long_data import long_data
from plantings.views.survival.filtered import FilteredResults, not_complete_lines
from registry.calc.shared.iso import iso_day
from registry.imports.sheets.formats import CONTENT_TYPES
from registry.views.shared.downloads import download_links
from registry.views.shared.long_downloads import LongDownload
from registry.views.shared.tables import Column, ledger_table

_DICTIONARY = (
    Column(_("Column"), "name", kind="code"), Column(_("Meaning"), "meaning", wide=True), Column(_("Type"), "type"),
    Column(_("Unit"), "unit"), Column(_("Codes"), "codes"),
)  # fmt: skip


class LongDataView(LongDownload, FilteredResults):
    action = "survival.data"
    template_name = "plantings/survival/long_data.html"
    form_class = LongDataFilters
    title = _("Data, tree by tree")
    question = _("What was recorded of each tree at each census, to compute with elsewhere?")
    download_types = {"zip": "application/zip", "xlsx": CONTENT_TYPES["xlsx"]}
    download_name = property(lambda page: f"survival-data-{iso_day(page.data.as_of)}")
    download_title = "survival data, tree by tree"
    data = cached_property(lambda page: long_data(page.user, page.form.limits))

    def get_table(self):
        return self.data

    def download(self, wanted):
        if wanted not in self.download_types:
            raise Http404("Mastbook does not write that format. Choose zip or xlsx.")
        return self.downloaded(wanted)

    def download_count(self):
        return self.data.rows_at_most()

    def write_download(self, target, wanted):
        if wanted == "zip":
            long_zip(target, self.data, self.chosen["level"], list(map(str, self.filters_used())), timezone.localtime())
        else:
            long_workbook(target, self.data)

    def get_page(self):
        table = self.get_table()
        links = {words: url.replace("download=csv", "download=zip") for words, url in download_links(self.request.GET)}
        return {
            "table": table,
            "not_complete": not_complete_lines(table),
            "downloads": [("ZIP", links["CSV"]), ("XLSX", links["XLSX"])],
            "dictionary": ledger_table(_("What each column is"), _DICTIONARY, table.columns, unit="columns"),
        }
