"""When trees die: the life of each lineage from planting on, beside the native checks in the same plantings."""

from dataclasses import replace
from typing import NamedTuple

from django.core.paginator import Paginator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.lifetimes.curves import Step
from plantings.calc.lifetimes.lineage_lives import AWAITED
from plantings.calc.lifetimes.words import (
    NEEDED,
    hazard_range,
    life_sentence,
    lifetime_definitions,
    lives_sentence,
    no_curve_sentence,
    p_words,
    step_words,
)  # fmt: skip
from plantings.calc.survival.groups import LEVELS
from plantings.forms.survival.filters import LifetimeFilters
from plantings.selectors.survival.lifetimes import lineage_lifetimes
from plantings.views.survival.columns import figures_response, with_key_words
from plantings.views.survival.curve_picture import curve_picture
from plantings.views.survival.filtered import FilteredResults, not_complete_lines
from plantings.views.survival.lineages import ShowsModel
from registry.calc.shared.iso import iso_day
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_number
from registry.views.shared.downloads import download_links
from registry.views.shared.tables import Column, ledger_table

LIVES_A_PAGE = 24
WITHOUT_CHECK = {"question": _("At which age does each lineage lose its trees?")}


class LifeRow(NamedTuple):
    """One age of one line of the picture, for the download."""

    lineage: str
    line: str
    age: int
    step: Step


def life_model_title(table):
    """The job that works out life tables, in the language of the office."""
    return f"Life tables of lineages, by {LEVELS[table.level]}"


class ShowsLives(ShowsModel):
    """A page of life tables, which may be long work."""

    def answer_title(self, table):
        return life_model_title(table)

    def answer_of(self, made):
        return gettext("The curves, tests and hazards of this page are of %(moment)s. Records that they rest on changed since.") % {
            "moment": made
        }


class LifetimesView(ShowsLives, FilteredResults):
    template_name = "plantings/survival/lifetimes.html"
    form_class = LifetimeFilters
    title = _("When they die")
    question = _("At which age does each lineage lose its trees, beside the native checks in the same plantings?")

    def get_table(self):
        return lineage_lifetimes(self.user, self.chosen["level"], self.form.limits, sown=self.form.sown, at_once=False)

    def answer_table(self):
        self.form = self.form_class(self.user, self.request.GET)
        return None if self.form.problems else self.get_table()

    def download(self, wanted):
        table = self.get_table()
        if table.awaited:
            return self.answer_later(table)
        rows = [
            LifeRow(one.label, line, age, step)
            for one in table.lives.lineages
            for line, steps in (("lineage", one.steps), ("native check", one.check))
            for age, step in zip(table.lives.ages, steps, strict=False)
        ]
        return figures_response(_DOWNLOAD, rows, table, f"lifetimes-{iso_day(table.as_of)}", wanted)

    def get_page(self):
        table = self.get_table()
        lives = replace(table.lives, lineages=with_key_words(table.lives.lineages))
        page = Paginator(lives.lineages, LIVES_A_PAGE).get_page(self.request.GET.get("page"))
        names = curve_names()
        tested = sum(one.test is not None for one in lives.lineages)
        has_check = any(one.check for one in lives.lineages)
        return (
            self.answer_part(table)
            | ({} if has_check else WITHOUT_CHECK)
            | {
                "has_check": has_check,
                "table": table,
                "page_obj": page,
                "no_curve": local_text(no_curve_sentence(lives)),
                "panels": [
                    (one, curve_picture(one, lives.ages, names) if one.has_curve else None, local_text(life_sentence(one, lives, tested)))
                    for one in page.object_list
                ],
                "opening": local_text(lives_sentence(lives)),
                "cannot_tell": [
                    (one.label, local_text(one.hazard.reason), local_text(NEEDED[one.hazard.reason]))
                    for one in page.object_list
                    if one.hazard.reason and one.hazard.reason != AWAITED
                ],
                "skipped": lives.skipped,
                "not_complete": not_complete_lines(table),
                "ledger": ledger_table(_("Life tables"), life_columns(table), page.object_list, unit="lineages"),
                "downloads": download_links(self.request.GET),
                "definitions": [(local_text(term), local_text(words)) for term, words in lifetime_definitions()],
            }
        )


def curve_names():
    """The words at the ends of the lines, and of the rows of numbers below them."""
    return {
        "lineage": gettext("lineage"), "check": gettext("native check"), "at_risk": gettext("at risk"), "check_at_risk": gettext("native"),
    }  # fmt: skip


def life_columns(table):
    """The columns of the page: survival at each age, the check at its last, and the test."""

    def at(place):
        return lambda one: local_text(step_words(one.steps[place])) if place < len(one.steps) else ""

    return [
        Column(gettext(LEVELS[table.level]).capitalize(), "label"),
        Column(_("Trees planted"), "trees", "right", "number"),
        Column(_("Sites"), "sites", "right", "number"),
        *(Column(_("After %(season)s") % {"season": age}, at(place), "right") for place, age in enumerate(table.lives.ages)),
        Column(_("Native check, last"), lambda one: local_text(step_words(one.check[-1])) if one.check else "", "right"),
        Column(_("Hazard as a multiple of the native check's (95 %)"), lambda one: local_text(hazard_range(one.hazard)), "right"),
        Column(_("Odds to die, ratio"), lambda one: "" if one.hazard.odds is None else local_number(f"{one.hazard.odds:.2f}"), "right"),
        Column(_("p, same hazard ratio at all ages"), lambda one: local_text(p_words(one.hazard.constant_p)), "right"),
        Column(_("Chi-square"), lambda one: local_number(f"{one.test.chi_square:.1f}") if one.test else local_text(one.reason), "right"),
        Column(_("p"), lambda one: local_text(p_words(one.test.p)) if one.test else "", "right"),
        Column(_("p, early deaths"), lambda one: local_text(p_words(one.early.p)) if one.early else "", "right"),
        Column(_("p, Holm"), lambda one: local_text(p_words(one.holm)), "right"),
        Column(_("p, Benjamini–Hochberg"), lambda one: local_text(p_words(one.bh)), "right"),
    ]


def _four(name):
    def value(row):
        number = getattr(row.step, name)
        return None if number is None else round(number, 4)

    return value


_DOWNLOAD = (
    Column("Lineage", "lineage"), Column("Line", "line"), Column("Growing seasons", "age", "right", "number"),
    Column("At risk", lambda row: row.step.at_risk, "right", "number"), Column("Gone", lambda row: row.step.deaths, "right", "number"),
    Column("Survival", _four("share"), "right"), Column("Standard error", _four("error"), "right"),
    Column("Low", _four("low"), "right"), Column("High", _four("high"), "right"),
)  # fmt: skip
