"""Addresses of survival reports."""

from django.urls import path

from plantings.views.reports import reports

urlpatterns = [
    path("results/reports/", reports.IssuedReportListView.as_view(), name="issuedreport_list"),
    path("results/reports/draft/", reports.ReportDraftView.as_view(), name="issuedreport_draft"),
    path("results/reports/issue/", reports.ReportIssueView.as_view(), name="issuedreport_issue"),
    path("results/reports/<int:pk>/", reports.IssuedReportDetailView.as_view(), name="issuedreport_detail"),
    path("results/reports/<int:pk>/pdf/", reports.IssuedReportPdfView.as_view(), name="issuedreport_pdf"),
]
