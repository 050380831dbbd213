"""Addresses of the read-only interface for programs."""

from django.urls import path

from plantings.views.api.description import API_VIEWS, VERSION, OpenApiView
from plantings.views.api.models import ModelTaskView

_BASE = f"api/{VERSION}"
urlpatterns = [
    path(f"{_BASE}/openapi.json", OpenApiView.as_view(), name="api_openapi"),
    path(f"{_BASE}/models/<str:question>", ModelTaskView.as_view(), name="api_model"),
    *(path(f"{_BASE}{view.path}", view.as_view(), name=name) for name, view in API_VIEWS.items()),
]
