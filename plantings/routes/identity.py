"""Addresses of what depends on a record."""

from django.urls import path

from plantings.views.identity import impact

urlpatterns = [
    # the address is older than the name, and people have bookmarked it
    path("impact/<str:kind>/<int:pk>/", impact.ImpactView.as_view(), name="impact"),
]
