"""Addresses of plantings, trees, counted plots and leftovers."""

from django.urls import path

from plantings.views.plantings import film, plantings, positions, supply, tags, tree_changes, trees

urlpatterns = [
    path("plantings/", plantings.PlantingListView.as_view(), name="planting_list"),
    path("plantings/new/", plantings.PlantingFormView.as_view(), name="planting_add"),
    path("plantings/<int:pk>/", plantings.PlantingDetailView.as_view(), name="planting_detail"),
    path("plantings/<int:pk>/change/", plantings.PlantingFormView.as_view(), name="planting_edit"),
    path("plantings/<int:pk>/establish/", plantings.PlantingEstablishView.as_view(), name="planting_establish"),
    path("plantings/<int:pk>/positions/", positions.PlantingMapView.as_view(), name="planting_map"),
    path("plantings/<int:pk>/rounds/", film.PlantingFilmView.as_view(), name="planting_film"),
    path("plantings/<int:pk>/tags/", tags.PlantingTagsView.as_view(), name="planting_tags"),
    path("plots/new/", supply.CountedPlotAddView.as_view(), name="countedplot_add"),
    path("shipments/lines/<int:pk>/leftover/", supply.LeftoverAddView.as_view(), name="leftover_add"),
    path("trees/", trees.TreeListView.as_view(), name="tree_list"),
    path("trees/new/", tree_changes.TreeAddView.as_view(), name="tree_add"),
    path("trees/<int:pk>/", trees.TreeDetailView.as_view(), name="tree_detail"),
    path("trees/<int:pk>/change/", tree_changes.TreeEditView.as_view(), name="tree_edit"),
    path("trees/<int:pk>/new-tag/", tree_changes.TreeRetagView.as_view(), name="tree_retag"),
    path("trees/<int:pk>/replace/", tree_changes.TreeReplaceView.as_view(), name="tree_replace"),
]
