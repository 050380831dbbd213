from django.urls import path

from plantings.views.census import census, corrections, counts, field_form, rounds
from plantings.views.plantings import plantings, positions, supply, tags, trees
from plantings.views.sites import sites

urlpatterns = [
    path("sites/", sites.SiteListView.as_view(), name="site_list"),
    path("sites/new/", sites.SiteFormView.as_view(), name="site_add"),
    path("sites/<int:pk>/", sites.SiteDetailView.as_view(), name="site_detail"),
    path("sites/<int:pk>/change/", sites.SiteFormView.as_view(), name="site_edit"),
    path("sites/<int:pk>/boundary/", sites.SiteBoundaryView.as_view(), name="site_boundary"),
    path("boundaries/", sites.BoundaryListView.as_view(), name="boundary_list"),
    path("boundaries/new/", sites.BoundaryAddView.as_view(), name="boundary_add"),
    path("boundaries/<int:pk>/withdraw/", sites.BoundaryWithdrawView.as_view(), name="boundary_withdraw"),
    path("plantings/", plantings.PlantingListView.as_view(), name="planting_list"),
    path("plantings/new/", plantings.PlantingFormView.as_view(), name="planting_add"),
    path("plantings/<int:pk>/", plantings.PlantingDetailView.as_view(), name="planting_detail"),
    path("plantings/<int:pk>/change/", plantings.PlantingFormView.as_view(), name="planting_edit"),
    path("plantings/<int:pk>/establish/", plantings.PlantingEstablishView.as_view(), name="planting_establish"),
    path("plantings/<int:pk>/positions/", positions.PlantingMapView.as_view(), name="planting_map"),
    path("plantings/<int:pk>/tags/", tags.PlantingTagsView.as_view(), name="planting_tags"),
    path("plots/new/", supply.CountedPlotAddView.as_view(), name="countedplot_add"),
    path("shipments/lines/<int:pk>/leftover/", supply.LeftoverAddView.as_view(), name="leftover_add"),
    path("trees/", trees.TreeListView.as_view(), name="tree_list"),
    path("trees/new/", trees.TreeAddView.as_view(), name="tree_add"),
    path("trees/<int:pk>/", trees.TreeDetailView.as_view(), name="tree_detail"),
    path("trees/<int:pk>/change/", trees.TreeEditView.as_view(), name="tree_edit"),
    path("trees/<int:pk>/new-tag/", trees.TreeRetagView.as_view(), name="tree_retag"),
    path("trees/<int:pk>/replace/", trees.TreeReplaceView.as_view(), name="tree_replace"),
    path("rounds/", rounds.RoundListView.as_view(), name="round_list"),
    path("rounds/new/", rounds.RoundFormView.as_view(), name="round_add"),
    path("rounds/<int:pk>/", rounds.RoundDetailView.as_view(), name="round_detail"),
    path("rounds/<int:pk>/change/", rounds.RoundFormView.as_view(), name="round_edit"),
    path("rounds/<int:pk>/records/", rounds.RoundRecordsView.as_view(), name="round_records"),
    path("rounds/<int:pk>/census/", census.CensusGridView.as_view(), name="census_grid"),
    path("rounds/<int:pk>/census/next/", census.CensusNextView.as_view(), name="census_next"),
    path("rounds/<int:pk>/census/<int:tree>/", census.CensusTreeView.as_view(), name="census_tree"),
    path("rounds/<int:pk>/field-form/", field_form.FieldFormView.as_view(), name="field_form"),
    path("rounds/<int:pk>/counts/", counts.CensusCountsView.as_view(), name="census_counts"),
    path("observations/<int:pk>/correct/", corrections.ObservationCorrectView.as_view(), name="observation_correct"),
    path("counts/<int:pk>/correct/", corrections.PlotCountCorrectView.as_view(), name="plotcount_correct"),
]
