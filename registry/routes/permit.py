"""Addresses of the permit file."""

urlpatterns = []
