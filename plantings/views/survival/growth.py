"""Growth of lineages beside the native checks: small pictures, their table, and the ages without a model."""

from django.core.paginator import Paginator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.growth.fit_words import means_fit_sentence
from plantings.calc.growth.growth import group_words
from plantings.calc.growth.words import difference_of, grown_words, growth_definitions, growth_sentence
from plantings.calc.survival.groups import LEVELS, LINEAGE
from plantings.forms.survival.filters import GrowthFilters
from plantings.selectors.census.asked import named_of
from plantings.selectors.survival.growth import growth_table
from plantings.views.survival.columns import figures_response, key_words
from plantings.views.survival.filtered import FilteredResults, not_complete_lines
from plantings.views.survival.growth_picture import growth_picture, top_of
from plantings.views.survival.lineages import ShowsModel
from registry.calc.shared.iso import iso_day
from registry.selectors.shared.local_text import local_text
from registry.views.shared.downloads import download_links
from registry.views.shared.tables import Column, ledger_table

PANELS_A_PAGE = 24
WITHOUT_CHECK = {"question": _("How tall and thick does each lineage grow?")}


def growth_model_title(table):
    """The job that fits the models of growth, in the language of the office."""
    return f"Growth of lineages, by {LEVELS[table.level]}: {table.item.label}"


class GrowthView(ShowsModel, FilteredResults):
    template_name = "plantings/survival/growth.html"
    form_class = GrowthFilters
    title = _("Growth")
    question = _("How tall and thick does each lineage grow, beside the native checks?")

    def get_table(self):
        return growth_table(self.user, self.form.measurement, self.chosen["level"], self.form.limits, sown=self.form.sown, at_once=False)

    def answer_table(self):
        self.form = self.form_class(self.user, self.request.GET)
        return None if self.form.problems else self.get_table()

    def answer_title(self, table):
        return growth_model_title(table)

    def answer_of(self, made):
        return gettext("The means and differences of this page are of %(moment)s. Records that they rest on changed since.") % {
            "moment": made
        }

    def download(self, wanted):
        table = self.get_table()
        if table.awaited:
            return self.answer_later(table)
        rows = [(group, age, one) for group in table.growth.groups for age, one in table.growth.steps(group)]
        return figures_response(_DOWNLOAD, rows, table, f"growth-{table.item.field}-{iso_day(table.as_of)}", wanted)

    def get_page(self):
        table = self.get_table()
        growth = table.growth
        page = Paginator(growth.lineages, PANELS_A_PAGE).get_page(self.request.GET.get("page"))
        top, names = top_of(growth), {"lineage": gettext("lineage"), "check": gettext("native checks")}
        unit, has_check = local_text(table.item.unit), bool(growth.steps(growth.native))
        shown = [*page.object_list, *(group for group in growth.groups if group.standard)]
        return (
            self.answer_part(table)
            | ({} if has_check else WITHOUT_CHECK)
            | {
                "has_check": has_check,
                "table": table,
                "page_obj": page,
                "what": named_of(table.item, local_text(table.item.label)),
                "unit": unit,
                "panels": [
                    (
                        _name(group),
                        growth_picture(growth, group, top, names),
                        local_text(growth_sentence(growth, group, _name(group), unit)),
                    )
                    for group in page.object_list
                ],
                "no_model": [(age, local_text(reason)) for age, reason in growth.no_model.items()],
                "fits": [local_text(means_fit_sentence(check, age, unit)) for age, check in growth.checks.items()],
                "not_complete": not_complete_lines(table),
                "ledger": ledger_table(named_of(table.item, local_text(table.item.label)), growth_columns(table), shown, unit="rows"),
                "downloads": download_links(self.request.GET),
                "definitions": [(local_text(term), local_text(words)) for term, words in growth_definitions()],
            }
        )


def _name(group):
    words = group_words(group)
    return local_text(words).capitalize() if group.standard else key_words(LINEAGE, words, {})


def growth_columns(table):
    """The columns of the page: each age, and the difference from the native check at the last one of the group."""
    growth, unit = table.growth, f" ({table.item.unit})" if table.item.unit else ""

    def at(age):
        return lambda group: local_text(grown_words(growth.grown[group, age])) if (group, age) in growth.grown else ""

    return [
        Column(gettext(LEVELS[table.level]).capitalize(), _name),
        *(Column(f"{_('After %(season)s') % {'season': age}}{unit}", at(age), "right") for age in growth.ages),
        Column(
            f"{_('From the native check, last age')}{unit}", lambda group: local_text(difference_of(growth.steps(group)[-1][1])), "right"
        ),
    ]


def _number(read):
    def value(row):
        number = read(row[2])
        return None if number is None else round(number, 3)

    return value


def _of_difference(name):
    return _number(lambda one: getattr(one.difference, name) if one.difference else None)


_DOWNLOAD = (
    Column("Lineage", lambda row: group_words(row[0])), Column("Role", lambda row: "check" if row[0].standard else "test"),
    Column("Growing seasons", "1", "right", "number"), Column("Trees", lambda row: row[2].n, "right", "number"),
    Column("Sites", lambda row: row[2].sites, "right", "number"), Column("Mean", _number(lambda one: one.mean), "right"),
    Column("Low", _number(lambda one: one.low), "right"), Column("High", _number(lambda one: one.high), "right"),
    Column("From the native check", _of_difference("estimate"), "right"), Column("Difference low", _of_difference("low"), "right"),
    Column("Difference high", _of_difference("high"), "right"),
)  # fmt: skip
