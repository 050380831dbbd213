"""When trees die, site by site: a small curve of each lineage at each site, beside the native checks there."""

from typing import NamedTuple

from django.core.paginator import Paginator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.lifetimes.lineage_lives import LineageLife
from plantings.calc.lifetimes.words import last_words, lifetime_definitions, step_words
from plantings.calc.survival.groups import LEVELS
from plantings.forms.survival.filters import LifetimeFilters
from plantings.selectors.survival.lifetimes import site_lifetimes
from plantings.views.survival.columns import figures_response, with_key_words
from plantings.views.survival.curve_picture import panel_picture
from plantings.views.survival.filtered import FilteredResults, not_complete_lines
from registry.calc.shared.iso import iso_day
from registry.calc.shared.shapes import beside
from registry.prints.document import Document, Drawing, Notes
from registry.prints.pages import draw_document
from registry.selectors.people.programme import programme_address
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_day
from registry.views.shared.addresses import file_response
from registry.views.shared.downloads import download_links
from registry.views.shared.tables import Column, ledger_table

__all__ = ["LivesBySiteView"]

SITES_A_PAGE = 8
WITHOUT_CHECK = {"question": _("At which age does each lineage lose its trees, site by site?")}
TREES_LEAST = 5  # a curve of fewer says nothing
_COLUMNS = 3


class SiteLife(NamedTuple):
    """One lineage at one site. `ages` are those of its steps."""

    site: str
    one: LineageLife
    ages: tuple

    @property
    def is_small(self):
        return self.one.trees < TREES_LEAST

    @property
    def has_curve(self):
        return not self.is_small and self.one.has_curve

    def picture(self, last):
        return panel_picture(self.one, self.ages, last) if self.has_curve else None

    @property
    def words(self):
        if not self.one.steps:
            return gettext("no complete census")
        return local_text(last_words(self.one, self.ages))


class LivesBySiteView(FilteredResults):
    template_name = "plantings/survival/by_site.html"
    form_class = LifetimeFilters
    title = _("When they die, site by site")
    question = _("Does each lineage outlive the native check at every site, or only at some?")

    def get_table(self):
        return site_lifetimes(self.user, self.chosen["level"], self.form.limits, sown=self.form.sown)

    def download(self, wanted):
        found = self.get_table()
        if wanted == "pdf":
            return file_response(draw_document(self.get_document(found)), "application/pdf", f"by-site-{iso_day(found.tables.as_of)}.pdf")
        rows = [
            (life, age, step)
            for lives in lives_at(found, found.sites).values()
            for life in lives
            for age, step in zip(life.ages, life.one.steps, strict=False)
        ]
        return figures_response(_DOWNLOAD, rows, found.tables, f"lifetimes-by-site-{iso_day(found.tables.as_of)}", wanted)

    def get_page(self):
        found = self.get_table()
        page = Paginator(found.sites, SITES_A_PAGE).get_page(self.request.GET.get("page"))
        listed = [*lives_at(found, page.object_list).items()]
        last = max(found.tables.lives.ages, default=1)
        has_check = any(life.one.check for _site, lives in listed for life in lives)
        return ({} if has_check else WITHOUT_CHECK) | {
            "has_check": has_check,
            "table": found.tables,
            "page_obj": page,
            "sites": [(site, [(life.one, life.picture(last), life.words, life.is_small) for life in lives]) for site, lives in listed],
            "not_complete": not_complete_lines(found.tables),
            "ledger": ledger_table(_("Life tables by site"), _columns(found.tables), [life for _s, lives in listed for life in lives]),
            "downloads": [*download_links(self.request.GET), ("PDF", self.pdf_address())],
            "definitions": [(local_text(term), local_text(words)) for term, words in lifetime_definitions()],
        }

    def pdf_address(self):
        query = self.request.GET.copy()
        query.pop("page", None)
        query["download"] = "pdf"
        return f"?{query.urlencode()}"

    def get_document(self, found):
        """The print: the curves of each site side by side, with their words below."""
        last = max(found.tables.lives.ages, default=1)
        parts = [Notes("", tuple(filter(None, (str(self.question), _HOW, found.tables.unread_words))))]
        for site, lives in lives_at(found, found.sites).items():
            panels = [(life.one.label, life.picture(last)) for life in lives if life.has_curve]
            words = tuple(f"{life.one.label}, {local_amount(life.one.trees, 'trees')}: {life.words}." for life in lives)
            for number, picture in enumerate(beside(panels, _COLUMNS)):
                parts.append(Drawing("" if number else site, picture, " ".join(words)))
            parts.append(Notes("" if panels else site, words))
        return Document(
            title=str(self.title), subtitle=programme_address(), made_on=self.today, parts=tuple(parts),
            made=f"records of {local_day(found.tables.as_of)}, {self.user}",
        )  # fmt: skip


_HOW = (
    "Heavy line: native checks in the same plantings. Thin line with its band: the lineage, 95 %. Below: growing seasons, then trees at "
    f"risk, of the lineage and of the checks. Fewer than {TREES_LEAST} trees have no curve, nor has a complete census of one age alone."
)


def lives_at(found, sites):
    """{site: SiteLife of each lineage there}."""
    return {
        site: [SiteLife(site, one, lives.ages) for one in with_key_words(lives.lineages)] for site, lives in found.lives_at(sites).items()
    }


def _columns(table):
    """The site, the lineage, and its survival at each age beside that of the checks."""

    def at(age, name):
        def value(life):
            steps = dict(zip(life.ages, getattr(life.one, name), strict=False))
            return local_text(step_words(steps[age])) if age in steps else ""

        return value

    return [
        Column(_("Site"), "site", kind="code"),
        Column(gettext(LEVELS[table.level]).capitalize(), "one.label"),
        Column(_("Trees planted"), "one.trees", "right", "number"),
        *(Column(_("After %(season)s") % {"season": age}, at(age, "steps"), "right") for age in table.lives.ages),
        Column(_("Native check, last"), lambda life: local_text(step_words(life.one.check[-1])) if life.one.check else "", "right"),
    ]


_DOWNLOAD = (
    Column("Site", lambda row: row[0].site), Column("Lineage", lambda row: row[0].one.label),
    Column("Growing seasons", lambda row: row[1], "right", "number"), Column("At risk", lambda row: row[2].at_risk, "right", "number"),
    Column("Gone", lambda row: row[2].deaths, "right", "number"), Column("Survival", lambda row: round(row[2].share, 4), "right"),
    Column("Low", lambda row: None if row[2].low is None else round(row[2].low, 4), "right"),
    Column("High", lambda row: None if row[2].high is None else round(row[2].high, 4), "right"),
)  # fmt: skip
