"""Addresses of identity: evidence, questions, what a record touches."""

urlpatterns = []
