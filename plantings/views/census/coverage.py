"""Coverage of the census: who goes where and when, what is done, what is not, and why."""

from django.core.paginator import Paginator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.forms.census import NotVisitedForm
from plantings.models import CensusRound
from plantings.selectors.census.coverage import coverage_lines, rounds_to_cover
from plantings.selectors.census.progress_words import of_words
from plantings.selectors.census.rounds import missing_trees
from plantings.services.census.observations import rest_not_visited
from plantings.views.sites.sites import PLANTING_LISTS
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count, local_days
from registry.views.shared.addresses import record_url
from registry.views.shared.details import PageView
from registry.views.shared.downloads import columns_response, download_links
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import other_lists
from registry.views.shared.tables import Column, ledger_table

_ROWS_A_PAGE = 50


def _reason(line):
    if line.why:
        return "; ".join(line.why)
    if line.unvisited:
        return _("no reason given")
    words = _("%(trees)s without a record") % {"trees": local_amount(line.round.missing, "trees")}
    return words if line.round.missing and line.state != "to come" else ""


def _counted(line):
    return of_words(line.round.counted, line.round.plots) if line.round.plots else ""


COLUMNS = (
    Column(_("Planting"), "round.planting.code", kind="code", url=lambda line: record_url(line.round)),
    Column(_("State"), lambda line: gettext(line.state), kind="state"),
    Column(_("Trees visited"), lambda line: of_words(line.visited, line.expected), "right"),
    Column(_("Window"), lambda line: local_days(line.round.opens_on, line.round.closes_on)),
    Column(_("Crew"), lambda line: ", ".join(line.crew) or _("nobody yet"), may="duty.view"),
    Column(_("Recorded as not visited"), "unvisited", "right", "number"),
    Column(_("Why"), _reason, wide=True),
    Column(_("Plots counted"), _counted, "right"),
    Column(_("Cautions read on a phone by"), lambda line: ", ".join(line.readers), may="duty.view"),
    Column(_("Site"), "round.planting.site.name"),
    Column(_("Round"), "round.label"),
)


class RoundCoverageView(PageView):
    action = "round.view"
    template_name = "plantings/census/coverage.html"
    title = _("Coverage of the census")
    question = _("Who goes where and when, what is done, and what was not visited?")

    def get(self, request, *args, **kwargs):
        wanted = request.GET.get("download")
        if wanted:
            lines = coverage_lines(rounds_to_cover(self.user, self.today), self.today, self.user)
            return columns_response([column for column in COLUMNS if column.shown_to(self.user)], lines, "coverage", wanted)
        return super().get(request, *args, **kwargs)

    def get_page(self):
        page = Paginator(rounds_to_cover(self.user, self.today), _ROWS_A_PAGE).get_page(self.request.GET.get("page"))
        lines = coverage_lines(page.object_list, self.today, self.user)
        columns = [column for column in COLUMNS if column.shown_to(self.user)]
        part = ledger_table(
            _("Rounds"), columns, lines, unit="rounds", downloads=download_links(self.request.GET), mark=_mark, user=self.user,
            empty=_("No round is open, opens within 60 days or closed within a year."),
        )  # fmt: skip
        done = sum(line.state == "done" for line in lines)
        words = _("%(rounds)s; %(done)s of %(shown)s on this page done.")
        words %= {"rounds": local_amount(page.paginator.count, "rounds"), "done": local_count(done), "shown": local_count(len(lines))}
        answer = words if lines else ""
        return {
            "section": part | {"count": page.paginator.count},
            "answer": answer,
            "page_obj": page,
            "others": other_lists(self, PLANTING_LISTS),
        }


class RoundNotVisitedView(RecordActionView):
    model = CensusRound
    action = "census.enter"
    form_class = NotVisitedForm
    service = rest_not_visited
    argument = "census_round"
    title = _("Rest of {object}: not visited")
    question = _("Why were the trees without a record not visited?")
    submit_label = _("Record them as not visited")
    cautions = property(lambda page: [{"title": _("What happens"), "lines": [page.what_happens()]}])
    success_message = property(lambda page: _("%(trees)s recorded as not visited.") % {"trees": local_amount(page.result, "trees")})

    def what_happens(self):
        left = missing_trees(self.object).count()
        if not left:
            return _("Every tree of this round has a record.")
        words = _(
            "%(trees)s without a record will be recorded as not visited, not as dead. If somebody visits a tree later, correct its record."
        )
        return words % {"trees": local_amount(left, "trees")}


def _mark(line):
    return "odd" if line.state == "not visited" or not line.crew else ""
