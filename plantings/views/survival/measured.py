"""A measurement by site and lineage: mean and spread of a number, shares of classes."""

from django.core.paginator import Paginator
from django.utils.translation import gettext_lazy as _

from plantings.calc.survival.formulas import survival_formulas
from plantings.forms.survival.filters import MeasuredFilters
from plantings.selectors.census.asked import asked_text
from plantings.selectors.survival.measured import measured_table
from plantings.views.survival.columns import place_columns
from plantings.views.survival.filtered import FilteredResults, moment_choices, progress_words
from registry.calc.shared.iso import iso_day
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import has_decimal_comma, local_number
from registry.views.shared.downloads import columns_response, download_links
from registry.views.shared.tables import Column, ledger_table

ROWS_A_PAGE = 60


class MeasuredView(FilteredResults):
    template_name = "plantings/survival/measured.html"
    form_class = MeasuredFilters
    title = _("Measurements by site and lineage")
    question = _("How do the living trees measure, where, and from which lineage?")

    def get_table(self):
        item = self.form.measurement
        return measured_table(self.user, item, self.form.by_words, self.chosen["level"], self.chosen["at"], self.form.limits)

    def download(self, wanted):
        table = self.get_table()
        name = f"{table.item.field}-{table.moment.code if table.moment else 'none'}-{iso_day(table.as_of)}"
        return columns_response(measured_columns(table), table.rows, name, wanted)

    def get_page(self):
        table = self.get_table()
        page = Paginator(table.rows, ROWS_A_PAGE).get_page(self.request.GET.get("page"))
        return {
            "table": table,
            "filters": self.form,
            "filters_used": self.filters_used(),
            "other_pages": self.other_pages(),
            "problems": self.problems,
            "only": self.only_words(),
            "moment": local_text(table.moment.words) if table.moment else "",
            "moments": moment_choices(table),
            "moment_label": _("measured"),
            "what": asked_text(table.item, table.item.label).lower(),
            "taken": asked_text(table.item, table.item.taken),
            "not_complete": [progress_words(item, table.unread_count) for item in table.not_complete],
            "formulas": [(local_text(term), local_text(words)) for term, words in survival_formulas()[-1:]],
            "page_obj": page,
            "ledger": ledger_table(asked_text(table.item, table.item.label), measured_columns(table), page.object_list, unit="rows"),
            "downloads": download_links(self.request.GET),
        }


def measured_columns(table):
    """The columns of the page and of its download, which are the same."""
    item = table.item
    unit = f" ({item.unit})" if item.unit else ""
    figures = [
        *(
            Column(f"{code} {asked_text(item, label)}", lambda row, code=code: _figure(row.share(code), 3), "right")
            for code, label, _meaning in item.classes
        ),
    ]  # fmt: skip
    if not item.classes:
        figures = [
            Column(f"{_('Mean')}{unit}", lambda row: _figure(row.spread.mean), "right"),
            Column(f"{_('Standard deviation')}{unit}", lambda row: _figure(row.spread.deviation), "right"),
            Column(f"{_('Lowest')}{unit}", lambda row: _figure(row.spread.lowest), "right"),
            Column(f"{_('Highest')}{unit}", lambda row: _figure(row.spread.highest), "right"),
        ]
    return [
        *place_columns(table), Column(_("Trees"), "n", "right", "number"), *figures,
        Column(_("Role"), lambda row: local_text(row.role_words)),
        Column(_("Sites"), "sites", "right", "number"), Column(_("Plantings"), "plantings", "right", "number"),
    ]  # fmt: skip


def _figure(value, decimals=2):
    """A rounded number: with a comma on a French page, as a plain number everywhere else, so that sheets stay readable."""
    if value is None:
        return None
    rounded = round(value, decimals)
    return local_number(str(rounded)) if has_decimal_comma() else rounded
