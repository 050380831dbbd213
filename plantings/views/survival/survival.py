"""Survival by site and lineage: the picture first, then the table, each with its downloads."""

from dataclasses import dataclass

from django.core.paginator import Paginator
from django.http import Http404, QueryDict

from plantings.calc.survival.groups import BY, LEVELS, LINEAGE
from plantings.calc.survival.survival import band_note
from plantings.calc.survival.table import OVER_SITES
from plantings.calc.survival.words import (
    band_words,
    definitions,
    difference_words,
    export_headers,
    export_row,
    pressure_words,
    season_words,
)
from plantings.forms.survival import VIEWS, SurvivalFilters
from plantings.maps.layers import marker_label, share_step
from plantings.selectors.identity.questions import lots_doubtful
from plantings.selectors.survival.survival import survival_curve, survival_rows
from plantings.views.survival.drawing import step_line
from registry.calc.shared.iso import iso_day
from registry.imports.sheets.formats import CONTENT_TYPES, write_rows
from registry.views.shared.addresses import file_response
from registry.views.shared.details import PageView
from registry.views.shared.tables import Column, Row, ledger_table

ROWS_A_PAGE = 60


@dataclass(frozen=True, slots=True)
class Rung:
    """One line of the picture."""

    label: str
    row: object
    last: bool
    unranked: bool


class SurvivalView(PageView):
    action = "survival.view"
    template_name = "plantings/survival/survival.html"
    title = "Survival by site and lineage"
    question = "What survives, where, and from which lineage?"

    def get(self, request, *args, **kwargs):
        form = SurvivalFilters(request.user, request.GET)
        if "site" in form.errors:
            raise Http404("There is no such site.")
        self.problems = form.problems
        if self.problems:
            form = SurvivalFilters(request.user, QueryDict())
            form.full_clean()
        self.form = form
        wanted = request.GET.get("download")
        if wanted and not self.problems:
            return self.download(wanted)
        return super().get(request, *args, **kwargs)

    def render_to_response(self, context, **kwargs):
        return super().render_to_response(context, status=400 if self.problems else 200, **kwargs)

    @property
    def chosen(self):
        return self.form.cleaned_data

    def get_table(self):
        return survival_rows(
            self.request.user, self.form.by_words, self.chosen["level"], self.chosen["season"], self.form.limits,
            by_survival=self.chosen["order"] == "survival",
        )  # fmt: skip

    def get_curve(self):
        return survival_curve(self.request.user, self.form.by_words, self.chosen["level"], self.form.limits)

    def download(self, wanted):
        if wanted not in CONTENT_TYPES:
            raise Http404("There is no such download.")
        if self.chosen["view"] == "curve":
            curve = self.get_curve()
            figures = [(season, row) for ages in curve.rows for season, row in sorted(ages.items())]
            source, name = curve, "survival-by-season"
        else:
            source = self.get_table()
            figures, name = [(source.season, row) for row in source.rows], f"survival-{source.season}-seasons"
        rows = [export_row(row, source.by, season, source.site_names, source.as_of) for season, row in figures]
        content = write_rows(export_headers(source.by), rows, wanted)
        return file_response(content, CONTENT_TYPES[wanted], f"{name}-{iso_day(source.as_of)}.{wanted}")

    def get_page(self):
        table = self.get_table()
        view = self.chosen["view"] or "bars"
        if view == "heat" and len(table.by) < 2:
            view = "bars"
        page = Paginator(table.rows, ROWS_A_PAGE).get_page(self.request.GET.get("page"))
        return {
            "table": table,
            "filters": self.form,
            "filters_used": self.filters_used(),
            "problems": self.problems,
            "doubtful": lots_doubtful(self.request.user, self.form.limits),
            "view": view,
            "views": [(key, words) for key, words in VIEWS.items() if key != "heat" or len(table.by) > 1],
            "season": season_words(table.season) if table.season is not None else "",
            "answers": [(row.role_plural, row) for row in table.totals],
            "page_obj": page if view == "bars" else None,
            "groups": _ladder(table, page, self.chosen["order"] == "survival") if view == "bars" else [],
            "heat": _heat(table) if view == "heat" else None,
            "curve": self.curve_part() if view == "curve" else None,
            "ledger": self.ledger(table, page) if view == "bars" else None,
            "downloads": self.downloads(),
            "definitions": definitions(table.protocol_versions),
            "over_sites": any(row.method == OVER_SITES for row in (*page.object_list, *table.totals)),
        }

    def filters_used(self):
        """The filters in words for the print: what the sentence of boxes says."""
        return [f"{bound.label} {_choice_words(bound)}" for bound in self.form.visible_fields()]

    def downloads(self):
        query = self.request.GET.copy()
        query.pop("page", None)
        links = []
        for wanted in ("csv", "xlsx"):
            query["download"] = wanted
            links.append((wanted.upper(), f"?{query.urlencode()}"))
        return links

    def ledger(self, table, page):
        part = ledger_table("Survival", _columns(table), page.object_list, unit="rows", downloads=self.downloads(), mark=_mark)
        totals = [_total_cells(table, row) for row in table.totals]
        part["rows"] += [Row(cells, "soft") for cells in totals[1:]]
        return part | {"count": page.paginator.count, "totals": totals[0] if totals else None}

    def curve_part(self):
        curve = self.get_curve()
        page = Paginator(curve.rows, ROWS_A_PAGE).get_page(self.request.GET.get("page"))
        lines = [
            {
                "row": (row := next(iter(ages.values()))),
                "label": _label(row.keys, curve),
                "line": step_line(curve.seasons, ages),
                "figures": [ages.get(season) for season in curve.seasons],
            }
            for ages in page.object_list
        ]
        return {"seasons": curve.seasons, "lines": lines, "page": page, "head": " · ".join(_heads(curve))}


def _choice_words(bound):
    """The chosen words of a list; its first entry where nothing was chosen."""
    words = {str(getattr(key, "value", key)): str(label) for key, label in bound.field.choices}
    return words.get(bound.value() or "", next(iter(words.values())))


def _heads(table):
    return [LEVELS[table.level] if word == LINEAGE else BY[word] for word in table.by]


def _key_words(word, key, names):
    return f"{key} {names[key]}" if word == "site" and names.get(key) else key


def _label(keys, table):
    return " · ".join(_key_words(word, key, table.site_names) for word, key in zip(table.by, keys, strict=True))


def _ladder(table, page, by_survival):
    """The rungs of one page under their first label."""
    groups = {}
    for row in page.object_list:
        outer = _key_words(table.by[0], row.keys[0], table.site_names) if len(table.by) > 1 else ""
        groups.setdefault(outer, []).append(row)
    inner = 1 if len(table.by) > 1 else 0
    result = []
    for outer, rows in groups.items():
        labels = [" · ".join(map(_key_words, table.by[inner:], row.keys[inner:], [table.site_names] * len(row.keys))) for row in rows]
        rungs = [Rung(label, row, row is rows[-1], by_survival and not row.rankable) for label, row in zip(labels, rows, strict=True)]
        result.append((outer, rungs))
    return result


def _heat(table):
    """First labels down, last labels across (checks after the trees under test), a figure or nothing in each cell."""
    columns = sorted({_heat_column(row) for row in table.rows})
    cells = {}
    for row in table.rows:
        cells.setdefault(row.keys[0], {})[_heat_column(row)] = row
    return {
        "corner": _heads(table)[0],
        "columns": [(" · ".join(keys), role_words if is_check else "") for is_check, _, keys, role_words in columns],
        "rows": [
            (_key_words(table.by[0], key, table.site_names), [_heat_cell(found.get(column)) for column in columns])
            for key, found in cells.items()
        ],
    }


def _heat_column(row):
    return row.is_check, row.standard, row.keys[1:], row.role_words


def _heat_cell(row):
    if row is None:
        return None
    if row.share is None:
        return {"figure": row.reason, "step": None, "row": row}
    band = band_note(row.band_low, row.band_high).removeprefix(", ")
    figure = f"{row.alive} of {row.n}" if row.count_leads else f"0{marker_label(row)}".replace("01.0", "1.00")
    interval = "" if row.count_leads else f"{row.low:.2f}–{row.high:.2f}"
    return {"figure": figure, "step": share_step(row), "row": row, "notes": [note for note in (interval, band) if note]}


def _mark(row):
    return "soft" if row.is_check else ""


def _columns(table):
    places = [
        Column(head.capitalize(), lambda row, word=word, place=place: _key_words(word, row.keys[place], table.site_names))
        for place, (word, head) in enumerate(zip(table.by, _heads(table), strict=True))
    ]
    return (*places, _FIGURES[0], Column("Role", "role_words"), *_FIGURES[1:])


def _figure_without_band(row):
    """What `survival_figure` prints, without the band: only for the table, which has a column of it beside."""
    return {name: getattr(row, name) for name in ("alive", "n", "share", "low", "high", "reason")}


def _count(name):
    return lambda row: getattr(row.counts, name)


def _checks(row):
    """The lots of the checks where there are any; where there are none the difference already says so."""
    lots = row.checks.lots if row.checks else ()
    return ", ".join(lots) if len(lots) <= 3 else f"{', '.join(lots[:2])} and {len(lots) - 2} more"


_FIGURES = (
    Column("Survival (95 % interval)", _figure_without_band, kind="interval"),
    Column("Band", band_words, "right"),
    Column("From the checks", difference_words, "right"),
    Column("Checks", _checks),
    Column("Disease pressure", pressure_words, "right"),
    Column("Sites", lambda row: len(row.sites), "right", "number"),
    Column("Planted", _count("planted"), "right", "number"),
    Column("n", "n", "right", "number"),
    Column("Alive", _count("alive"), "right", "number"),
    Column("of which resprout", _count("resprout"), "right", "number"),
    Column("Dead", _count("dead"), "right", "number"),
    Column("Presumed dead", _count("presumed_dead"), "right", "number"),
    Column("Not found", _count("not_found"), "right", "number"),
    Column("Not located", _count("not_located"), "right", "number"),
    Column("Not visited", _count("not_visited"), "right", "number"),
    Column("Removed, in n", _count("removed"), "right", "number"),
    Column("Removed, not in n", _count("removed_excluded"), "right", "number"),
)


def _total_cells(table, row):
    label = f"All {row.role_plural}"
    blanks = [("", "left", None, "blank")] * (len(table.by) - 1)
    return [(label, "left", None, None), *blanks, *[column.cell(row) for column in _columns(table)[len(table.by) :]]]
