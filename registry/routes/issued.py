"""Addresses of the papers the site makes: labels, packing list, drafts."""

urlpatterns = []
