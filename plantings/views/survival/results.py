"""The entry page of the results: the picture that answers its question, and what else is here."""

from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from plantings.forms.survival.filters import LINEAGES_LEVEL
from plantings.selectors.sites.map_points import map_counts
from plantings.selectors.survival.lineages import lineage_comparison
from plantings.selectors.survival.rounds import SurvivalFilter
from plantings.views.survival.lineages import ShowsLineageModel, comparison_parts
from registry.selectors.shared.local_text import local_text
from registry.views.shared.details import PageView

LINEAGES_MOST = 30


class ResultsView(ShowsLineageModel, PageView):
    action = "map.view"
    template_name = "plantings/survival/results.html"
    title = _("Results")
    question = _("What survives, and is it better than the native tree?")

    def answer_table(self):
        if self.may("survival.view"):
            return lineage_comparison(self.user, LINEAGES_LEVEL, None, SurvivalFilter(), at_once=False)
        return None

    def get_page(self):
        page = {"map": map_counts(self.user)}
        table = self.answer_table()
        if table is not None:
            page |= (
                self.answer_part(table)
                | comparison_parts(table, range(LINEAGES_MOST), range(LINEAGES_MOST))
                | {
                    "survival_url": reverse("survival"),
                    "lifetimes_url": reverse("survival_lifetimes"),
                    "lineages_url": reverse("survival_lineages"),
                    "measured_url": reverse("survival_measured"),
                    "data_url": reverse("survival_data") if self.may("survival.data") else "",
                    "growth_url": reverse("survival_growth"),
                    "mothers_url": reverse("results_mothers") if self.may("orchard.view") else "",
                    "answers": [(local_text(row.role_plural), row, len(row.sites)) for row in table.totals],
                }
            )
        return page | ({"reports_url": reverse("issuedreport_list")} if self.may("report.view") else {})
