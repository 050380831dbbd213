"""Addresses of what depends on a record."""

from django.urls import path

from plantings.views.identity import impact

urlpatterns = [
    path("touches/<str:kind>/<int:pk>/", impact.TouchesView.as_view(), name="touches"),
]
