"""Addresses of the orchard: plan, status, ratings, decisions."""

urlpatterns = []
