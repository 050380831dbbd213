"""Addresses of the pedigree: taxa, trees, the numbers calculated from it."""

from django.urls import path

from registry.views.pedigree import how_many, numbers, taxa, trees

urlpatterns = [
    path("taxa/", taxa.TaxonListView.as_view(), name="taxon_list"),
    path("taxa/new/", taxa.TaxonFormView.as_view(), name="taxon_add"),
    path("taxa/<int:pk>/", taxa.TaxonDetailView.as_view(), name="taxon_detail"),
    path("taxa/<int:pk>/change/", taxa.TaxonFormView.as_view(), name="taxon_edit"),
    path("mother-trees/", trees.PedigreeTreeListView.as_view(), name="pedigreetree_list"),
    path("mother-trees/new/", trees.PedigreeTreeFormView.as_view(), name="pedigreetree_add"),
    path("mother-trees/<int:pk>/", trees.PedigreeTreeDetailView.as_view(), name="pedigreetree_detail"),
    path("mother-trees/<int:pk>/change/", trees.PedigreeTreeFormView.as_view(), name="pedigreetree_edit"),
    path("mother-trees/<int:pk>/status/", trees.PedigreeTreeStatusView.as_view(), name="pedigreetree_status"),
    path("mother-trees/<int:pk>/pedigree/", numbers.TreeNumbersView.as_view(), name="pedigreetree_numbers"),
    path("lots/<int:pk>/pedigree/", numbers.LotNumbersView.as_view(), name="lot_numbers"),
    path("how-many/", how_many.HowManyView.as_view(), name="how_many"),
]
