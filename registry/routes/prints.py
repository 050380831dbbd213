"""Addresses of the prints: of a lot, and the list of those that were made."""

from django.urls import path

from registry.views.prints import issued

urlpatterns = [
    path("papers/handed-out/", issued.IssuedPaperListView.as_view(), name="issuedpaper_list"),
    path("papers/handed-out/<int:pk>/", issued.IssuedPaperDetailView.as_view(), name="issuedpaper_detail"),
    path("lots/<int:pk>/labels/", issued.LotLabelsView.as_view(), name="lot_labels"),
    path("lots/<int:pk>/life/", issued.LotLifeView.as_view(), name="lot_life"),
    path("lots/<int:pk>/identity-draft/", issued.LotIdentityDraftView.as_view(), name="lot_identity_draft"),
]
