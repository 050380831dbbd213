"""The entry page of the results: the answer in one line, and what else is here."""

from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from plantings.selectors.sites.map_points import map_points
from plantings.selectors.survival.survival import survival_rows
from registry.selectors.shared.local_text import local_text
from registry.views.shared.details import PageView


class ResultsView(PageView):
    action = "map.view"
    template_name = "plantings/survival/results.html"
    title = _("Results")
    question = _("What survives, where, and from which lineage?")

    def get_page(self):
        page = {"map": map_points(self.user)}
        if self.may("survival.view"):
            table = survival_rows(self.user, ("site",))
            page |= {
                "table": table,
                "survival_url": reverse("survival"),
                "lifetimes_url": reverse("survival_lifetimes"),
                "lineages_url": reverse("survival_lineages"),
                "measured_url": reverse("survival_measured"),
                "answers": [(local_text(row.role_plural), row, len(row.sites)) for row in table.totals],
            }
        return page | ({"reports_url": reverse("issuedreport_list")} if self.may("report.view") else {})
