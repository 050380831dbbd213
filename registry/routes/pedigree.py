"""Addresses of the pedigree computing: shares, drawings, diversity, how many to grow."""

urlpatterns = []
