"""The answers of the read-only interface: each the figures of a page of Results, or records that a person sees."""

from django.utils import timezone

from plantings.calc.api.lineages import LINEAGES, LIVES
from plantings.calc.api.measured import GROWTH, MEASURED
from plantings.calc.api.models import MODEL_TASK
from plantings.calc.api.records import LOTS, PLANTINGS, SITES
from plantings.calc.api.survival import SURVIVAL
from plantings.forms.survival.filters import GrowthFilters, LifetimeFilters, LineageFilters, MeasuredFilters, SurvivalFilters
from plantings.selectors.plantings.in_scope import lots_counted, lots_in_scope, plantings_counted, plantings_in_scope
from plantings.selectors.sites.map_points import map_counts, sites_placed
from plantings.selectors.survival.growth import growth_table
from plantings.selectors.survival.lifetimes import lineage_lifetimes
from plantings.selectors.survival.lineages import lineage_comparison
from plantings.selectors.survival.measured import measured_table
from plantings.selectors.survival.survival import survival_rows
from plantings.views.api.models import ModelAwaited
from plantings.views.api.results import ResultsApiView
from plantings.views.survival.growth import growth_model_title
from plantings.views.survival.lifetimes import life_model_title
from plantings.views.survival.lineages import lineage_model_title


class SurvivalApiView(ResultsApiView):
    action = "survival.view"
    path, summary = "/survival", "Survival by site and lineage"
    shape, form_class = SURVIVAL, SurvivalFilters

    def get_values(self):
        chosen = self.form.cleaned_data
        table = survival_rows(
            self.user, self.form.by_words, chosen["level"], chosen["at"], self.form.limits, by_survival=chosen["order"] == "survival"
        )
        return table, {"table": table, "page": self.page_of(table.rows)}


class LineagesApiView(ResultsApiView):
    action = "survival.view"
    path, summary = "/lineages", "Lineages beside the native check"
    shape, form_class, later = LINEAGES, LineageFilters, MODEL_TASK

    def get_values(self):
        chosen = self.form.cleaned_data
        table = lineage_comparison(self.user, chosen["level"], chosen["at"], self.form.limits, sown=self.form.sown, at_once=False)
        if table.awaited:
            raise ModelAwaited(self.request, table.awaited, lineage_model_title(table), self.page_of_choices("survival_lineages"))
        found = table.comparison
        places = {one.label: place for place, one in enumerate(found.ranked, start=1)}
        return table, {"table": table, "order": places, "page": self.page_of((*found.ranked, *found.unranked))}


class LifetimesApiView(ResultsApiView):
    action = "survival.view"
    path, summary = "/lifetimes", "Life tables of lineages"
    shape, form_class, later = LIVES, LifetimeFilters, MODEL_TASK

    def get_values(self):
        table = lineage_lifetimes(self.user, self.form.cleaned_data["level"], self.form.limits, sown=self.form.sown, at_once=False)
        if table.awaited:
            raise ModelAwaited(self.request, table.awaited, life_model_title(table), self.page_of_choices("survival_lifetimes"))
        return table, {"table": table, "ages": table.lives.ages, "page": self.page_of(table.lives.lineages)}


class GrowthApiView(ResultsApiView):
    action = "survival.view"
    path, summary = "/growth", "Growth of lineages, age by age"
    shape, form_class, later = GROWTH, GrowthFilters, MODEL_TASK

    def get_values(self):
        level, limits, sown = self.form.cleaned_data["level"], self.form.limits, self.form.sown
        table = growth_table(self.user, self.form.measurement, level, limits, sown=sown, at_once=False)
        if table.awaited:
            raise ModelAwaited(self.request, table.awaited, growth_model_title(table), self.page_of_choices("survival_growth"))
        rows = [(group, age, one) for group in table.growth.groups for age, one in table.growth.steps(group)]
        return table, {"table": table, "page": self.page_of(rows)}


class MeasuredApiView(ResultsApiView):
    action = "survival.view"
    path, summary = "/measurements", "A measurement by site and lineage"
    shape, form_class = MEASURED, MeasuredFilters

    def get_values(self):
        form, chosen = self.form, self.form.cleaned_data
        table = measured_table(self.user, form.measurement, form.by_words, chosen["level"], chosen["at"], form.limits)
        return table, {"table": table, "page": self.page_of(table.rows)}


class SitesApiView(ResultsApiView):
    action = "map.view"
    path, summary = "/sites", "Sites"
    shape = SITES

    def get_values(self):
        counts = map_counts(self.user)
        rows = [
            {
                "code": one.code,
                "name": one.name,
                "jurisdiction": one.jurisdiction,
                "latitude": one.lat,
                "longitude": one.lon,
                "exact": one.exact,
            }
            for one in sites_placed(self.user, *self.window)
        ]
        return None, {"as_of": timezone.localdate(), "hidden": counts.hidden, "page": self.paged(counts.shown, rows)}


class PlantingsApiView(ResultsApiView):
    action = "planting.view"
    path, summary = "/plantings", "Plantings"
    shape = PLANTINGS

    def get_values(self):
        return None, {"page": self.paged(plantings_counted(self.user), plantings_in_scope(self.user, *self.window))}


class LotsApiView(ResultsApiView):
    action = "lot.view"
    path, summary = "/lots", "Lots with their lineage"
    shape = LOTS

    def get_values(self):
        return None, {"page": self.paged(lots_counted(self.user), lots_in_scope(self.user, *self.window))}
