"""Addresses of what is calculated from the pedigree: shares, drawings, diversity, pools, how many to grow."""

from django.urls import path

from registry.views.orchard import diversity, pools
from registry.views.pedigree import how_many, numbers

urlpatterns = [
    path("mother-trees/<int:pk>/pedigree/", numbers.TreeNumbersView.as_view(), name="pedigreetree_numbers"),
    path("lots/<int:pk>/pedigree/", numbers.LotNumbersView.as_view(), name="lot_numbers"),
    path("lots/<int:pk>/diversity/", diversity.LotDiversityView.as_view(), name="lot_diversity"),
    path("orchards/diversity/", diversity.OrchardDiversityView.as_view(), name="orchard_diversity"),
    path("pollen-pools/<int:pk>/diversity/", diversity.PoolDiversityView.as_view(), name="pollenpool_diversity"),
    path("pollen-pools/<int:pk>/gather/", pools.PoolGatherView.as_view(), name="pollenpool_gather"),
    path("pollen-pools/<int:pk>/members/", pools.PoolMembersView.as_view(), name="pollenpool_members"),
    path("how-many/", how_many.HowManyView.as_view(), name="how_many"),
]
