"""Addresses of duties, incidents and calendars."""

urlpatterns = []
