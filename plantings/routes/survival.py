"""Addresses of the results."""

from django.urls import path

from plantings.views.api.models import ModelNowView
from plantings.views.survival import by_site, growth, lifetimes, lineages, long_data, measured, one_lineage, results, roguing, survival

urlpatterns = [
    path("results/", results.ResultsView.as_view(), name="results"),
    path("results/survival/", survival.SurvivalView.as_view(), name="survival"),
    path("results/lineages/", lineages.LineagesView.as_view(), name="survival_lineages"),
    path("results/lineage/", one_lineage.OneLineageView.as_view(), name="survival_lineage"),
    path("results/data/", long_data.LongDataView.as_view(), name="survival_data"),
    path("results/lifetimes/", lifetimes.LifetimesView.as_view(), name="survival_lifetimes"),
    path("results/lifetimes/sites/", by_site.LivesBySiteView.as_view(), name="survival_by_site"),
    path("results/growth/", growth.GrowthView.as_view(), name="survival_growth"),
    path("results/measurements/", measured.MeasuredView.as_view(), name="survival_measured"),
    path("results/models/<str:question>/now/", ModelNowView.as_view(), name="model_now"),
    path("results/mothers/", roguing.RoguingListView.as_view(), name="results_mothers"),
    path("results/mothers/<int:pk>/", roguing.RoguingEvidenceView.as_view(), name="pedigreetree_roguing"),
]
