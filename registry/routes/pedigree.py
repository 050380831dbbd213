"""Addresses of the pedigree computing: shares, drawings, diversity, pools, how many to grow."""

from django.urls import path

from registry.views.orchard import pools
from registry.views.pedigree import how_many as growing
from registry.views.pedigree import numbers as pedigree_numbers

urlpatterns = [
    path("mother-trees/<int:pk>/pedigree/", pedigree_numbers.TreeNumbersView.as_view(), name="pedigreetree_numbers"),
    path("lots/<int:pk>/pedigree/", pedigree_numbers.LotNumbersView.as_view(), name="lot_numbers"),
    path("lots/<int:pk>/diversity/", pedigree_numbers.LotDiversityView.as_view(), name="lot_diversity"),
    path("orchards/diversity/", pedigree_numbers.OrchardDiversityView.as_view(), name="orchard_diversity"),
    path("pollen-pools/<int:pk>/diversity/", pedigree_numbers.PoolDiversityView.as_view(), name="pollenpool_diversity"),
    path("pollen-pools/<int:pk>/gather/", pools.PoolGatherView.as_view(), name="pollenpool_gather"),
    path("pollen-pools/<int:pk>/members/", pools.PoolMembersView.as_view(), name="pollenpool_members"),
    path("how-many/", growing.HowManyView.as_view(), name="how_many"),
]
