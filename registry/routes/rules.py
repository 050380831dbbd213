"""Addresses of the papers' versions, documents, the rules and the gate."""

urlpatterns = []
