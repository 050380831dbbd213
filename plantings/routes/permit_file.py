"""Addresses of the permit file of a paper and of its yearly reports."""

from django.urls import path

from plantings.views.permit_file import permit_file, year

urlpatterns = [
    path("papers/<int:pk>/file/", permit_file.PermitFileView.as_view(), name="authorization_file"),
    path("papers/<int:pk>/file/<int:year>/", year.YearReportView.as_view(), name="authorization_year"),
]
