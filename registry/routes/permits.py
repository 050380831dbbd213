"""Addresses of papers: their states, documents, holders and quantities used."""

from django.urls import path

from registry.views.gate import draws
from registry.views.permits import authorizations

urlpatterns = [
    path("papers/", authorizations.AuthorizationListView.as_view(), name="authorization_list"),
    path("papers/new/", authorizations.AuthorizationFormView.as_view(), name="authorization_add"),
    path("papers/<int:pk>/", authorizations.AuthorizationDetailView.as_view(), name="authorization_detail"),
    path("papers/<int:pk>/change/", authorizations.AuthorizationFormView.as_view(), name="authorization_edit"),
    path("papers/<int:pk>/state/", authorizations.AuthorizationStateView.as_view(), name="authorization_state"),
    path("papers/<int:pk>/give-back/", draws.AuthorizationGiveBackView.as_view(), name="authorization_give_back"),
    path("papers/<int:pk>/used-before/", draws.AuthorizationOpeningView.as_view(), name="authorization_opening"),
    path("papers/<int:pk>/documents/new/", authorizations.DocumentAddView.as_view(), name="document_add"),
    path("papers/documents/<int:pk>/file", authorizations.DocumentFileView.as_view(), name="document_file"),
    path("papers/holders/", authorizations.AuthorizationHoldersView.as_view(), name="authorization_holders"),
]
