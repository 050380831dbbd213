"""A measurement by site and lineage: mean and spread of a number, shares of classes."""

from django.core.paginator import Paginator
from django.utils.translation import gettext_lazy as _

from plantings.calc.growth.words import rounded
from plantings.calc.survival.formulas import survival_formulas
from plantings.forms.survival.filters import MeasuredFilters
from plantings.selectors.census.asked import named_of
from plantings.selectors.census.progress_words import of_words
from plantings.selectors.survival.measured import measured_table
from plantings.views.survival.columns import figures_response, place_columns
from plantings.views.survival.filtered import FilteredResults, moment_choices, not_complete_lines
from registry.calc.shared.iso import iso_day
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import has_decimal_comma, local_number
from registry.views.shared.downloads import download_links
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
        return figures_response(measured_columns(table, in_numbers=True), table.rows, table, name, wanted)

    def get_page(self):
        table = self.get_table()
        page = Paginator(table.rows, ROWS_A_PAGE).get_page(self.request.GET.get("page"))
        return {
            "table": table,
            "moment": local_text(table.moment.words) if table.moment else "",
            "moments": moment_choices(table),
            "moment_label": _("measured"),
            "what": named_of(table.item, local_text(table.item.label).lower()),
            "taken": named_of(table.item, local_text(table.item.taken)),
            "not_complete": not_complete_lines(table),
            "formulas": [(local_text(term), local_text(words)) for term, words in survival_formulas()[-1:]],
            "page_obj": page,
            "ledger": ledger_table(
                named_of(table.item, local_text(table.item.label)), measured_columns(table), page.object_list, unit="rows"
            ),
            "downloads": download_links(self.request.GET),
        }


def measured_columns(table, in_numbers=False):
    """The columns of the page: figures with their intervals in words. In the download, `in_numbers`, each end has a column."""
    item = table.item
    unit = f" ({local_text(item.unit)})" if item.unit else ""
    if item.classes and in_numbers:
        figures = [
            column
            for code, label, _meaning in item.classes
            for column in (
                Column(f"{code} {local_text(label)}", lambda row, code=code: _figure(row.share(code), 3), "right"),
                Column(f"{code} {_('low')}", lambda row, code=code: _figure(row.share_interval(code)[0], 3), "right"),
                Column(f"{code} {_('high')}", lambda row, code=code: _figure(row.share_interval(code)[1], 3), "right"),
            )
        ]
    elif item.classes:
        figures = [
            Column(named_of(item, f"{code} {local_text(label)}"), lambda row, code=code: _share_words(row, code), "right")
            for code, label, _meaning in item.classes
        ]
    else:
        mean = [Column(f"{_('Mean')}{unit}", lambda row: _figure(row.spread.mean), "right")]
        ends = [Column(f"{_('Mean, %(end)s') % {'end': words}}{unit}", lambda row, end=end: _end(row, end), "right")
                for end, words in enumerate((_("low"), _("high")))]  # fmt: skip
        figures = [
            *([*mean, *ends] if in_numbers else [Column(f"{_('Mean (95 % interval)')}{unit}", _mean_words, "right")]),
            Column(f"{_('Standard deviation')}{unit}", lambda row: _figure(row.spread.deviation), "right"),
            Column(f"{_('Lowest')}{unit}", lambda row: _figure(row.spread.lowest), "right"),
            Column(f"{_('Highest')}{unit}", lambda row: _figure(row.spread.highest), "right"),
        ]
    return [
        *place_columns(table), Column(_("Trees"), "n", "right", "number"), *figures,
        Column(_("Role"), lambda row: local_text(row.role_words)),
        Column(_("Sites"), "sites", "right", "number"), Column(_("Plantings"), "plantings", "right", "number"),
    ]  # fmt: skip


def _share_words(row, code):
    """'0.75 (0.62–0.85)'; under ten trees the count leads: '3 of 4'."""
    if row.count_leads:
        return of_words(row.classes.get(code, 0), row.n)
    low, high = row.share_interval(code)
    return local_number(f"{row.share(code):.2f} ({low:.2f}–{high:.2f})")


def _mean_words(row):
    mean, ends = row.spread.mean, row.mean_interval
    if ends is None:
        return local_number(rounded(mean))
    shown = {name: local_number(rounded(value, mean, *ends)) for name, value in zip(("mean", "low", "high"), (mean, *ends), strict=True)}
    return _("%(mean)s (%(low)s to %(high)s)") % shown


def _end(row, end):
    ends = row.mean_interval
    return _figure(ends[end]) if ends else None


def _figure(value, decimals=2):
    """A rounded number: with a comma on a French page, as a plain number everywhere else, so that sheets stay readable."""
    if value is None:
        return None
    rounded = round(value, decimals)
    return local_number(str(rounded)) if has_decimal_comma() else rounded
