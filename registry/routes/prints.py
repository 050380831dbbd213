"""Addresses of the prints: of a lot, and the list of those that were made."""

from django.urls import path

from registry.views.prints import issued

urlpatterns = [
    path("prints/", issued.IssuedPrintListView.as_view(), name="issuedprint_list"),
    path("prints/<int:pk>/", issued.IssuedPrintDetailView.as_view(), name="issuedprint_detail"),
    path("lots/<int:pk>/labels/", issued.LotLabelsView.as_view(), name="lot_labels"),
    path("lots/<int:pk>/life/", issued.LotLifeView.as_view(), name="lot_life"),
    path("lots/<int:pk>/identity-draft/", issued.LotIdentityDraftView.as_view(), name="lot_identity_draft"),
]
