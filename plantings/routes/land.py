"""Addresses of a landowner's own page: the token in them is the key."""

from django.urls import path

from plantings.views.land import land

urlpatterns = [
    path("my-land/<str:token>/", land.LandPageView.as_view(), name="land_page"),
    path("my-land/<str:token>/language/", land.LandLanguageView.as_view(), name="land_language"),
    path("my-land/<str:token>/tell/", land.LandTellView.as_view(), name="land_tell"),
    path("my-land/<str:token>/receipts/<int:pk>/", land.LandReceiptView.as_view(), name="land_receipt"),
    path("my-land/<str:token>/agreements/<int:pk>/", land.LandAgreementView.as_view(), name="land_agreement"),
]
