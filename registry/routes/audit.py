"""Addresses of the changes."""

from django.urls import path

from registry.views.audit import trail

urlpatterns = [
    path("changes/", trail.AuditListView.as_view(), name="audit_list"),
]
