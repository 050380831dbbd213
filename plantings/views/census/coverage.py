"""Coverage of the census: who goes where and when, what is done, what is not, and why."""

from django.core.paginator import Paginator

from plantings.selectors.census.coverage import coverage_lines, rounds_to_cover
from plantings.views.sites.sites import PLANTING_LISTS
from registry.calc.shared.screen import amount_words, days_words
from registry.views.shared.addresses import record_url
from registry.views.shared.details import PageView
from registry.views.shared.downloads import columns_response, download_links
from registry.views.shared.lists import other_lists
from registry.views.shared.tables import Column, ledger_table

_ROWS_A_PAGE = 50


def _reason(line):
    if line.why:
        return "; ".join(line.why)
    if line.unvisited:
        return "no reason given"
    return f"{amount_words(line.round.missing, 'trees')} without a record" if line.round.missing and line.state != "to come" else ""


def _counted(line):
    return f"{line.round.counted:,} of {line.round.plots:,}" if line.round.plots else ""


COLUMNS = (
    Column("Planting", "round.planting.code", kind="code", url=lambda line: record_url(line.round)),
    Column("State", "state", kind="state"),
    Column("Trees visited", lambda line: f"{line.visited:,} of {line.expected:,}", "right"),
    Column("Window", lambda line: days_words(line.round.opens_on, line.round.closes_on)),
    Column("Crew", lambda line: ", ".join(line.crew) or "nobody yet", may="duty.view"),
    Column("Recorded as not visited", "unvisited", "right", "number"),
    Column("Why", _reason, wide=True),
    Column("Plots counted", _counted, "right"),
    Column("Cautions read on a phone by", lambda line: ", ".join(line.readers), may="duty.view"),
    Column("Site", "round.planting.site.name"),
    Column("Round", "round.label"),
)


class RoundCoverageView(PageView):
    action = "round.view"
    template_name = "plantings/census/coverage.html"
    title = "Coverage of the census"
    question = "Who goes where and when, what is done, and what was not visited?"

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
            "Rounds", columns, lines, unit="rounds", downloads=download_links(self.request.GET), mark=_mark, user=self.user,
            empty="No round is open, opens within 60 days or closed within a year.",
        )  # fmt: skip
        done = sum(line.state == "done" for line in lines)
        answer = f"{amount_words(page.paginator.count, 'rounds')}; {done:,} of {len(lines):,} on this page done." if lines else ""
        return {
            "section": part | {"count": page.paginator.count},
            "answer": answer,
            "page_obj": page,
            "others": other_lists(self, PLANTING_LISTS),
        }


def _mark(line):
    return "odd" if line.state == "not visited" or not line.crew else ""
