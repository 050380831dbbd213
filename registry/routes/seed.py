"""Addresses of what is done with a lot: tests, treatments, storage, sowing, the handbook."""

urlpatterns = []
