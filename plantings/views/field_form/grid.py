"""The grid of one page of a printed field form, which the code at its foot opens."""

from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext

from plantings.models import FormPage, Tree
from plantings.views.census.census import CensusGridView
from plantings.views.census.rounds import get_round
from registry.views.shared.addresses import record_url, reverse_to


class FormPageView(CensusGridView):
    """The trees of one printed page, in its order. A page without trees leads to the counts of the plots, or to the round."""

    def find_rows(self):
        self.form_page = get_object_or_404(self.scoped(FormPage).select_related("entered_by"), pk=self.kwargs["pk"])
        self.round = get_round(self, self.form_page.round_id)

    def get(self, request, *args, **kwargs):
        if not self.form_page.trees:
            plots = self.round.planting.counted_plots.exists()
            return redirect(reverse_to("census_counts", self.round.pk) if plots else record_url(self.round))
        return super().get(request, *args, **kwargs)

    def get_page(self):
        place = {pk: number for number, pk in enumerate(self.form_page.trees)}
        trees = Tree.objects.for_user(self.user).filter(pk__in=place, planting=self.round.planting_id).select_related("block")
        return Paginator(sorted(trees, key=lambda tree: place[tree.pk]), max(len(place), 1)).get_page(1)

    def page_query(self):
        return ""

    def get_context_data(self, **kwargs):
        item = self.form_page
        values = {"number": item.number, "count": item.count, "planting": self.round.planting.code, "round": self.round.label}
        page = {
            "title": gettext("Key page %(number)s of %(count)s: %(planting)s, %(round)s") % values,
            "page_code": item.code,
            "pages_beside": self.pages_beside(),
        }
        return super().get_context_data(**kwargs) | page

    def pages_beside(self):
        """[(words, address)] of the pages of the form before and after this one."""
        item = self.form_page
        beside = FormPage.objects.filter(round=item.round_id, form=item.form, number__in=(item.number - 1, item.number + 1))
        words = {item.number - 1: gettext("Page before"), item.number + 1: gettext("Next page")}
        return [(words[page.number], reverse_to("formpage_key", page.pk)) for page in beside]
