"""Survival by site and lineage: the picture first, then the table, each with its downloads."""

from dataclasses import dataclass

from django.core.paginator import Paginator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.survival.census_choice import AGE, CensusChoice
from plantings.calc.survival.formulas import survival_formulas
from plantings.calc.survival.groups import LEVELS
from plantings.calc.survival.table import OVER_SITES
from plantings.calc.survival.words import definitions, export_headers, export_row
from plantings.forms.survival.filters import VIEWS, SurvivalFilters
from plantings.selectors.identity.questions import lots_doubtful
from plantings.selectors.survival.cause_years import causes_over_years
from plantings.selectors.survival.causes import survival_causes
from plantings.selectors.survival.curves import survival_curve
from plantings.selectors.survival.survival import survival_rows
from plantings.views.survival.cause_picture import cause_panels, cause_sentence, cause_years_table
from plantings.views.survival.columns import heads, key_words, label, place_columns, survival_columns
from plantings.views.survival.filtered import FilteredResults, moment_choices, not_complete_lines
from plantings.views.survival.heat import heat_pages, heat_part
from registry.calc.shared.iso import iso_day
from registry.selectors.shared.local_text import local_text
from registry.views.shared.downloads import download_links, rows_response
from registry.views.shared.tables import Column, Row, ledger_table

ROWS_A_PAGE = 60


@dataclass(frozen=True, slots=True)
class Rung:
    """One line of the picture."""

    label: str
    row: object
    last: bool
    unranked: bool


class SurvivalView(FilteredResults):
    action = "survival.view"
    template_name = "plantings/survival/survival.html"
    form_class = SurvivalFilters
    title = _("Survival by site and lineage")
    question = _("What survives, where, and from which lineage?")

    def get_table(self, heat_pages=None):
        return survival_rows(
            self.user, self.form.by_words, self.chosen["level"], self.chosen["at"], self.form.limits,
            by_survival=self.chosen["order"] == "survival", heat_pages=heat_pages,
        )  # fmt: skip

    def get_curve(self):
        return survival_curve(self.user, self.form.by_words, self.chosen["level"], self.form.limits)

    def download(self, wanted):
        if self.chosen["view"] == "curve":
            curve = self.get_curve()
            figures = [(CensusChoice(AGE, age), row) for ages in curve.rows for age, row in sorted(ages.items())]
            source, name = curve, "survival-by-age"
        else:
            source = self.get_table()
            figures = [(source.moment, row) for row in source.rows]
            name = f"survival-{source.moment.code}" if source.moment else "survival"
        is_curve = self.chosen["view"] == "curve"
        rows = [
            export_row(
                row, source.by, moment, source.site_names, source.as_of, source.unread_of[moment.number] if is_curve else source.unread_of,
                source.unread_count,
            )
            for moment, row in figures
        ]  # fmt: skip
        return rows_response(export_headers(source.by), rows, f"{name}-{iso_day(source.as_of)}", wanted)

    def get_page(self):
        view = self.chosen["view"] or "bars"
        if view == "heat" and len(self.form.by_words) < 2:
            view = "bars"
        table = self.get_table(heat_pages(self.request.GET) if view == "heat" else None)
        # the other views show rows of their own, and each row of this one takes its figures
        page = Paginator(table.rows, ROWS_A_PAGE).get_page(self.request.GET.get("page")) if view == "bars" else None
        return {
            "table": table,
            "doubtful": lots_doubtful(self.user, self.form.limits),
            "view": view,
            "views": [(key, words) for key, words in VIEWS.items() if key != "heat" or len(table.by) > 1],
            "moment": local_text(table.moment.words) if table.moment else "",
            "ages": [(CensusChoice(AGE, age).code, age, plantings) for age, plantings in table.ages],
            "moments": moment_choices(table),
            "not_complete": not_complete_lines(table),
            "stated_levels": [(level, gettext(LEVELS[level])) for level in table.stated_levels],
            "lineage_word": gettext(LEVELS[table.level]),
            "answers": [(local_text(row.role_plural), row) for row in table.totals],
            "page_obj": page,
            "groups": _ladder(table, page, self.chosen["order"] == "survival") if view == "bars" else [],
            "heat": heat_part(table) if view == "heat" else None,
            "curve": self.curve_part() if view == "curve" else None,
            "causes": self.causes_part() if view == "causes" else None,
            "ledger": self.ledger(table, page) if view == "bars" else None,
            "downloads": download_links(self.request.GET),
            "definitions": [
                (local_text(term), local_text(words))
                for term, words in (*definitions(table.protocol_versions, table.complete_percent), *survival_formulas())
            ],
            "over_sites": any(row.method == OVER_SITES for row in table.totals),
        }

    def ledger(self, table, page):
        columns, links = survival_columns(table, self.request.path, self.chosen["then"])
        part = ledger_table(_("Survival"), columns, page.object_list, unit="rows", downloads=download_links(self.request.GET), mark=_mark)
        totals = [_total_cells(table, columns, links, row) for row in table.totals]
        part["rows"] += [Row(cells, "soft") for cells in totals[1:]]
        return part | {"count": page.paginator.count, "totals": totals[0] if totals else None}

    def causes_part(self):
        found = survival_causes(self.user, self.form.by_words, self.chosen["level"], self.chosen["at"], self.form.limits)
        columns = [
            *place_columns(found),
            Column(_("Role"), lambda row: local_text(row.role_words)),
            *(Column(words, lambda row, cause=cause: row.trees.get(cause) or None, "right", "number") for cause, words in found.causes),
            Column(_("All"), "total", "right", "number"),
        ]
        page = Paginator(found.rows, ROWS_A_PAGE).get_page(self.request.GET.get("page"))
        table = ledger_table(_("Causes of death and removal"), columns, page.object_list, unit="rows")
        return {"table": table, "page": page, "populations": [part for sown in (False, True) if (part := self._over_years(sown))]}

    def _over_years(self, sown):
        """The causes over the years of planted trees, or of those sown as seed; None where none of them died."""
        found = causes_over_years(self.user, self.chosen["level"], self.form.limits, sown=sown)
        title = (
            _("New deaths and removals of trees sown as seed, by year of census")
            if sown
            else _("New deaths and removals, by year of census")
        )
        panels = cause_panels(found)
        return (
            {"title": title, "panels": panels, "sentence": cause_sentence(found), "by_year": cause_years_table(found)} if panels else None
        )

    def curve_part(self):
        curve = self.get_curve()
        page = Paginator(curve.rows, ROWS_A_PAGE).get_page(self.request.GET.get("page"))
        lines = [
            {
                "row": (row := next(iter(ages.values()))),
                "label": label(row.keys, curve),
                "figures": [ages.get(season) for season in curve.seasons],
            }
            for ages in page.object_list
        ]
        return {"seasons": curve.seasons, "lines": lines, "page": page, "head": " · ".join(gettext(head) for head in heads(curve))}


def _ladder(table, page, by_survival):
    """The rungs of one page under their first label."""
    groups = {}
    for row in page.object_list:
        outer = key_words(table.by[0], row.keys[0], table.site_names) if len(table.by) > 1 else ""
        groups.setdefault(outer, []).append(row)
    inner = 1 if len(table.by) > 1 else 0
    result = []
    for outer, rows in groups.items():
        labels = [" · ".join(map(key_words, table.by[inner:], row.keys[inner:], [table.site_names] * len(row.keys))) for row in rows]
        rungs = [Rung(label, row, row is rows[-1], by_survival and not row.rankable) for label, row in zip(labels, rows, strict=True)]
        result.append((outer, rungs))
    return result


def _mark(row):
    return "soft" if row.is_check else ""


def _total_cells(table, columns, links, row):
    label = _("All %(role)s") % {"role": local_text(row.role_plural)}
    blank = ("", "left", None, "blank")
    blanks = [blank] * (len(table.by) - 1)
    return [(label, "left", None, None), *blanks, *[blank if column in links else column.cell(row) for column in columns[len(table.by) :]]]
