"""The page of one lineage: all sites and ages beside its checks, its mothers and lots, its diversity, causes of death, growth."""

from django.http import Http404
from django.shortcuts import redirect
from django.utils.functional import cached_property
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.survival.formulas import survival_formulas
from plantings.calc.survival.groups import LEVELS, LINEAGE
from plantings.calc.survival.words import definitions, difference_words, pressure_words
from plantings.selectors.survival.figure_words import figure_words
from plantings.selectors.survival.one_lineage import LINES_MOST, OneLineage
from plantings.views.survival.columns import key_words
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_count, local_number
from registry.views.shared.details import PageView
from registry.views.shared.sections import Action, Fact, Panel, Section, draw_sections, drawn
from registry.views.shared.tables import Column, Link


def _site_columns(page, _rows):
    return [
        Column(_("Site"), _site_words),
        *(
            Column(
                _("After %(season)s") % {"season": age},
                lambda line, age=age: figure_words(line.figures[age]) if age in line.figures else "",
            )
            for age in page.object.ages
        ),
        Column(_("From the checks, last"), lambda line: local_text(difference_words(_last(line))), "right"),
        Column(_("Disease pressure"), lambda line: local_text(pressure_words(_last(line))) if not line.is_check else "", "right"),
    ]


def _sites_note(page, _rows):
    total, behind = page.object.site_lines, page.object.behind
    words = [
        gettext("From complete censuses. Checks are those of the same sites, whatever they are of."),
        behind.unread_words,
        behind.second,
    ]
    if total > LINES_MOST:
        words.append(gettext("The first %(shown)s of %(total)s.") % {"shown": local_count(LINES_MOST), "total": local_count(total)})
    return " ".join(filter(None, words))


def _site_words(line):
    site = f"{line.site} {line.site_name}".strip() or _("all sites together")
    return f"{site}, {local_text(line.role_words)}"


def _spread(name, part=""):
    """A number of one of the two spreads of a GrowthAtSite, blank where there is none."""

    def words(line):
        spread = getattr(line, name)
        value = getattr(spread, part) if spread else None
        return "" if value is None else local_number(f"{value:.1f}")

    return words


def _last(line):
    return line.figures[max(line.figures)]


def _of_mothers(words):
    return lambda page: words(page.object.diversity) if page.may("lot.view") and page.object.diversity.status_number else ""


def _definitions(page):
    lines = [(local_text(term), local_text(words)) for term, words in (*definitions(), *survival_formulas())]
    diversity = gettext(
        "Effective number of mothers = 1 / Σ p², p the part of what was planted that is from each. Status number = 1 / (2 Θ), Θ the group "
        "coancestry of the mothers weighted by p: as many unrelated trees that are not inbred would be as diverse. "
        "Lindgren, Gea & Jefferson 1996, Silvae Genet. 45."
    )
    more = [(gettext("Diversity of the mothers"), diversity)] if page.may("lot.view") else []
    return [
        {"title": gettext("How these figures are made"), "id": "how", "include": "plantings/survival/_terms.html", "terms": [*lines, *more]}
    ]


def _leads_to(words, route, query):
    """An action that opens another page of results; `query` is a function of the lineage."""
    return Action(words, route, "survival.view", key=None, query=lambda page: query(page.object))


def _only(one):
    return {"level": one.level, "of_level": one.level, "of_lineage": one.label}


class OneLineageView(PageView):
    action = "survival.view"
    template_name = "generic/detail.html"
    question = _("How does this lineage live, on all sites and at all ages, beside its checks?")
    facts = (
        Fact(_("Sites"), lambda page: len(page.object.site_codes), always=True),
        Fact(_("Lots"), lambda page: len(page.object.lots) if page.may("lot.view") else ""),
        Fact(_("Mother trees on record"), lambda page: len(page.object.mothers) if page.may("lot.view") else ""),
        Fact(_("Effective number of mothers"), _of_mothers(lambda found: local_number(f"{found.effective_number:.2f}"))),
        Fact(_("Status number of the mothers"), _of_mothers(lambda found: local_number(f"{found.status_number:.2f}"))),
        Fact(_("Mean inbreeding of the mothers"), _of_mothers(lambda found: local_number(f"{found.inbreeding:.4f}"))),
    )
    actions = (
        _leads_to(_("Beside the other lineages"), "survival_lineages", lambda one: {"level": one.level}),
        _leads_to(_("Survival by site and lineage"), "survival", _only),
        _leads_to(_("When they die"), "survival_lifetimes", _only),
    )
    sections = (
        Section(
            title=_("Survival by site and age, beside the checks there"), id="sites", unit="rows", rows=lambda page: page.object.sites,
            columns=_site_columns, mark=lambda line: "soft" if line.is_check else "", missing=_("a complete census of it"),
            note=_sites_note,
        ),
        Section(
            title=_("Causes of death and removal"), id="causes", unit="rows", rows=lambda page: page.object.causes,
            missing=_("causes of death"),
            columns=(Column(_("Cause"), lambda line: line[0]), Column(_("Trees"), lambda line: line[1], "right", "number")),
            note=_("Trees under test, at the latest complete census of each planting. Trees presumed dead have no record of a cause."),
        ),
        Section(
            title=_("Growth of the living trees"), id="growth", unit="rows", rows=lambda page: page.object.growth, most=LINES_MOST,
            missing=_("measured growth"),
            columns=(
                Column(_("Measurement"), lambda line: _with_unit(line.item)),
                Column(_("Site"), "site"),
                Column(_("Mean"), _spread("lineage", "mean"), "right"),
                Column(_("Native check, mean"), _spread("check", "mean"), "right"),
                Column(_("Standard deviation"), _spread("lineage", "deviation"), "right"),
                Column(_("Trees"), "lineage.n", "right", "number"),
                Column(_("Native check, trees"), "check.n", "right", "number"),
            ),
            note=_("At the latest complete census of each planting. Compare trees of one site: ages may differ from site to site."),
        ),
        Section(
            title=_("Mother trees"), id="mothers", unit="trees", may="lot.view", rows=lambda page: page.object.mothers, most=100,
            columns=(
                Column(_("Mother tree"), "tree.code", kind="code", url=Link("pedigreetree_detail", "tree.pk", "pedigree.view")),
                Column(_("Generation"), "tree.generation_code"),
                Column(_("Lots"), "lots", "right", "number"),
                Column(_("Planted or sown under test"), "planted", "right", "number"),
            ),
        ),
        Section(
            title=_("Lots"), id="lots", unit="lots", may="lot.view", rows=lambda page: page.object.lots, most=100,
            columns=(
                Column(_("Lot"), "code", kind="code", url=Link("lot_detail", "pk", "lot.view")),
                Column(_("Kind"), "get_kind_display"),
                Column(_("Year"), "year", "right"),
                Column(_("Generation"), "generation_code"),
                Column(_("Taxon"), "taxon.name", kind="latin"),
            ),
        ),
        Panel(draw_parts=_definitions),
    )  # fmt: skip

    def get(self, request, *args, **kwargs):
        level, label = request.GET.get("level", ""), request.GET.get("lineage", "")
        if not level and not label:
            return redirect("survival_lineages")
        if level not in LEVELS or not self.object:
            raise Http404("No lineage with this level and name is here.")
        return super().get(request, *args, **kwargs)

    @cached_property
    def object(self):
        return OneLineage(self.user, *(self.request.GET.get(name, "") for name in ("level", "lineage")))

    def get_page(self):
        parts, missing = draw_sections(self, self.sections)
        head = {"title": key_words(LINEAGE, self.object.label, {}), "where": gettext(LEVELS[self.object.level])}
        return head | {"facts": drawn(self, self.facts), "actions": drawn(self, self.actions), "parts": parts, "missing": missing}


def _with_unit(item):
    words = local_text(item.label)
    return f"{words} ({local_text(item.unit)})" if item.unit else words
