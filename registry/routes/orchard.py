"""Addresses of the orchard: plan, pollen pools, ratings, decisions, measured shares."""

from django.urls import path

from registry.views.orchard import decisions, diversity, orchard, pools, rating_scales, ratings, second, shares

urlpatterns = [
    path("pollen-pools/", pools.PollenPoolListView.as_view(), name="pollenpool_list"),
    path("pollen-pools/new/", pools.PollenPoolFormView.as_view(), name="pollenpool_add"),
    path("pollen-pools/<int:pk>/", pools.PollenPoolDetailView.as_view(), name="pollenpool_detail"),
    path("pollen-pools/<int:pk>/change/", pools.PollenPoolFormView.as_view(), name="pollenpool_edit"),
    path("pollen-pools/<int:pk>/gather/", pools.PoolGatherView.as_view(), name="pollenpool_gather"),
    path("pollen-pools/<int:pk>/members/", pools.PoolMembersView.as_view(), name="pollenpool_members"),
    path("lots/<int:pk>/diversity/", diversity.LotDiversityView.as_view(), name="lot_diversity"),
    path("orchards/diversity/", diversity.OrchardDiversityView.as_view(), name="orchard_diversity"),
    path("pollen-pools/<int:pk>/diversity/", diversity.PoolDiversityView.as_view(), name="pollenpool_diversity"),
    path("orchards/", orchard.OrchardListView.as_view(), name="orchard_list"),
    path("orchards/plan/", orchard.OrchardPlanView.as_view(), name="orchard_plan"),
    path("ratings/", ratings.RatingListView.as_view(), name="rating_list"),
    path("ratings/day/", ratings.RatingDayView.as_view(), name="rating_day"),
    path("ratings/<int:pk>/", ratings.RatingDetailView.as_view(), name="rating_detail"),
    path("ratings/<int:pk>/correct/", ratings.RatingCorrectView.as_view(), name="rating_correct"),
    path("rating-scales/", rating_scales.RatingScaleListView.as_view(), name="ratingscale_list"),
    path("rating-scales/new/", rating_scales.RatingScaleFormView.as_view(), name="ratingscale_add"),
    path("rating-scales/<int:pk>/", rating_scales.RatingScaleDetailView.as_view(), name="ratingscale_detail"),
    path("rating-scales/<int:pk>/change/", rating_scales.RatingScaleFormView.as_view(), name="ratingscale_edit"),
    path("decisions/", decisions.DecisionListView.as_view(), name="decision_list"),
    path("decisions/<int:pk>/", decisions.DecisionDetailView.as_view(), name="decision_detail"),
    path("decisions/<int:pk>/confirm/", second.DecisionConfirmView.as_view(), name="decision_confirm"),
    path("decisions/<int:pk>/link/", second.DecisionLinkView.as_view(), name="decision_link"),
    path("decisions/agree/<str:token>/", second.DecisionByLinkView.as_view(), name="decision_by_link"),
    path("measured-shares/", shares.ShareListView.as_view(), name="share_list"),
    path("mother-trees/<int:pk>/rate/", ratings.RatingEnterView.as_view(), name="pedigreetree_rate"),
    path("mother-trees/<int:pk>/decide/", decisions.DecisionEnterView.as_view(), name="pedigreetree_decide"),
    path("mother-trees/<int:pk>/measured-share/", shares.TreeShareView.as_view(), name="pedigreetree_share"),
    path("lots/<int:pk>/measured-share/", shares.LotShareView.as_view(), name="lot_share"),
]
