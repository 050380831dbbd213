"""Lineages beside the native checks: the picture, its table, and what cannot be told."""

from dataclasses import replace

from django.core.paginator import Paginator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.lifetimes.words import p_words
from plantings.calc.lineages.compare import NEEDED
from plantings.calc.lineages.definitions import lineage_definitions
from plantings.calc.lineages.heritability_words import heritability_sentences
from plantings.calc.lineages.words import (
    difference_range,
    disagreement_sentence,
    few_trees_words,
    method_sentences,
    odds_range,
    opening_sentence,
    pressure_sentence,
)  # fmt: skip
from plantings.calc.survival.groups import LEVELS
from plantings.forms.survival.filters import LineageFilters
from plantings.selectors.survival.lineages import lineage_comparison
from plantings.views.survival.columns import figures_response, lineage_url, with_key_words
from plantings.views.survival.filtered import FilteredResults, moment_choices, not_complete_lines
from plantings.views.survival.lineage_picture import lineage_picture, scale_of
from registry.calc.shared.iso import iso_day
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count, local_number
from registry.views.jobs.awaited import ShowsAnswer
from registry.views.shared.downloads import download_links
from registry.views.shared.tables import Column, ledger_table

LINEAGES_A_PAGE = 60
WITHOUT_CHECK = {"title": _("Lineages beside each other"), "question": _("Which lineages survive?")}


def lineage_model_title(table):
    """The job that fits the model of a comparison, in the language of the office."""
    return f"Model of lineages, by {LEVELS[table.level]}, alive {table.moment.words}"


class ShowsModel(ShowsAnswer):
    """A page of a model that may be long work."""

    now_route = "model_now"

    def answer_changed(self, awaited):
        then, now = (_rests_words(about) for about in (awaited.stored.about, awaited.about))
        if then == now:
            return gettext("The totals are the same, so counts of single lineages or sites changed, or Mastbook fits another model now.")
        return gettext("Then: %(then)s. Now: %(now)s.") % {"then": then, "now": now}


def _rests_words(about):
    if "measured" in about:
        return gettext("%(trees)s measured in %(lineages)s on %(sites)s") % {
            "trees": local_amount(about["measured"], "trees"),
            "lineages": local_amount(about["lineages"], "lineages"),
            "sites": local_amount(about["sites"], "sites"),
        }
    return gettext("%(alive)s of %(trees)s alive in %(lineages)s on %(sites)s") % {
        "alive": local_count(about["alive"]),
        "trees": local_amount(about["trees"], "trees"),
        "lineages": local_amount(about["lineages"], "lineages"),
        "sites": local_amount(about["sites"], "sites"),
    }


class ShowsLineageModel(ShowsModel):
    """A page of a comparison of lineages, whose model may be long work."""

    def answer_title(self, table):
        return lineage_model_title(table)

    def answer_of(self, made):
        return gettext(
            "What is shrunken on this page, its order and its chances are of %(moment)s. Records that they rest on changed since."
        ) % {"moment": made}


class LineagesView(ShowsLineageModel, FilteredResults):
    template_name = "plantings/survival/lineages.html"
    form_class = LineageFilters
    title = _("Lineages beside the native check")
    question = _("Which lineages survive, and do they live better than the native tree?")

    def get_table(self):
        return lineage_comparison(self.user, self.chosen["level"], self.chosen["at"], self.form.limits, sown=self.form.sown, at_once=False)

    def answer_table(self):
        self.form = self.form_class(self.user, self.request.GET)
        return None if self.form.problems else self.get_table()

    def download(self, wanted):
        table = self.get_table()
        if table.awaited:
            return self.answer_later(table)
        rows = (*table.comparison.ranked, *table.comparison.unranked)
        name = f"lineages-{table.moment.code if table.moment else 'none'}-{iso_day(table.as_of)}"
        return figures_response([*lineage_columns(table), Column(_("Cannot tell"), "reason")], rows, table, name, wanted)

    def get_page(self):
        table = self.get_table()
        ranked, unranked = len(table.comparison.ranked), len(table.comparison.unranked)
        page = Paginator(range(ranked + unranked), LINEAGES_A_PAGE).get_page(self.request.GET.get("page"))
        here = page.object_list
        parts = comparison_parts(table, here[: max(ranked - here.start, 0)], [place - ranked for place in here if place >= ranked])
        return (
            parts
            | self.answer_part(table)
            | ({} if table.comparison.has_native else WITHOUT_CHECK)
            | {
                "page_obj": page,
                "moments": moment_choices(table),
                "moment_label": _("alive"),
                "heritability": heritability_words(table),
                "not_complete": not_complete_lines(table),
                "downloads": download_links(self.request.GET),
                "definitions": [(local_text(term), local_text(words)) for term, words in lineage_definitions()],
            }
        )


def comparison_parts(table, ranked=None, unranked=None):
    """What the picture of a comparison, its sentences and its table need. `ranked` and `unranked` are the places of the lineages that are
    drawn and listed, all where left out."""
    found = table.comparison
    found = replace(found, ranked=with_key_words(found.ranked), unranked=with_key_words(found.unranked))
    shown = replace(found, ranked=_at(found.ranked, ranked), unranked=_at(found.unranked, unranked))
    return {
        "table": table,
        "found": found,
        "moment": local_text(table.moment.words) if table.moment else "",
        "pressure": local_text(pressure_sentence(found)),
        "methods": [local_text(words) for words in (*method_sentences(found), disagreement_sentence(found)) if words],
        "opening": local_text(opening_sentence(found)),
        "picture": lineage_picture(shown, scale_of(found)) if shown.ranked else None,
        "more": len(found.ranked) - len(shown.ranked),
        "cannot_tell": [
            (one.label, local_text(few_trees_words(one.row.alive, one.row.n)), local_text(one.reason), local_text(NEEDED[one.reason]))
            for one in shown.unranked
        ],
        "more_untold": len(found.unranked) - len(shown.unranked),
        "ledger": ledger_table(_("Lineages"), lineage_columns(table), shown.ranked, unit="lineages"),
    }


def _at(lineages, places):
    return lineages if places is None else tuple(lineages[place] for place in places if place < len(lineages))


def heritability_words(table):
    """The sentences about heritability; mothers alone are families, so other levels have none."""
    return [local_text(words) for words in heritability_sentences(table.comparison.heritability)] if table.level == "mother" else []


def lineage_columns(table):
    """The columns of the page and of its download, which are the same."""
    return [
        Column(gettext(LEVELS[table.level]).capitalize(), "label", url=lambda one: lineage_url(table.level, one.row.keys[0])),
        Column(_("From the native check (95 %)"), lambda one: local_text(difference_range(one.row.difference)), "right"),
        Column(
            _("Shrunken difference (95 %)"), lambda one: local_text(difference_range(one.shrunk.difference)) if one.shrunk else "", "right"
        ),
        Column(_("Shrunken survival (95 %)"), _shrunken_survival, "right"),
        Column(_("Reliability"), lambda one: _two(one.shrunk and one.shrunk.reliability), "right"),
        Column(_("Chance of best quarter"), lambda one: _two(one.shrunk and one.shrunk.best), "right"),
        Column(_("Chance of worst quarter"), lambda one: _two(one.shrunk and one.shrunk.worst), "right"),
        Column(_("Odds to be alive, times the native check's (95 %)"), lambda one: local_text(odds_range(one.odds)), "right"),
        Column(_("p, Cochran–Mantel–Haenszel, Holm"), lambda one: local_text(p_words(one.odds_holm)), "right"),
        Column(_("p, sites agree, Breslow–Day, Holm"), lambda one: local_text(p_words(one.alike_holm)), "right"),
        Column(_("Survival as observed"), lambda one: _two(one.row.share), "right"),
        Column(_("Sites"), lambda one: len(one.sites), "right", "number"),
        Column(_("Assessed"), lambda one: one.row.n, "right", "number"),
        Column(_("Alive"), lambda one: one.row.alive, "right", "number"),
    ]


def _shrunken_survival(one):
    return local_number(f"{one.shrunk.share:.2f} ({one.shrunk.low:.2f}–{one.shrunk.high:.2f})") if one.shrunk else ""


def _two(value):
    return "" if value is None else local_number(f"{value:.2f}")
