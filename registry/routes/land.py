"""Addresses of the landowner's page, agreements and cautions."""

urlpatterns = []
