"""Addresses of a landowner's own page: the token in them is the key."""

from django.urls import path

from plantings.views.land import land, one_page

urlpatterns = [
    path("my-land/<str:token>/", land.LandPageView.as_view(), name="land_page"),
    path("my-land/<str:token>/language/", land.LandLanguageView.as_view(), name="land_language"),
    path("my-land/<str:token>/tell/", land.LandTellView.as_view(), name="land_tell"),
    path("my-land/<str:token>/print/", one_page.LandPrintView.as_view(), name="land_print"),
    path("my-land/<str:token>/receipts/<int:pk>/", land.LandReceiptView.as_view(), name="land_receipt"),
    path("my-land/<str:token>/agreements/<int:pk>/", land.LandAgreementView.as_view(), name="land_agreement"),
    path("partners/<int:pk>/one-page/", one_page.PartnerOnePageView.as_view(), name="partner_one_page"),
]
