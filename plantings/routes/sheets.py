"""Addresses of loading a sheet."""

from django.urls import path

from plantings.views.sheets import columns, preview, sheets

urlpatterns = [
    path("sheets/", sheets.SheetListView.as_view(), name="sheet_list"),
    path("sheets/sent/<uuid:key>/", preview.SheetPreviewView.as_view(), name="sheet_preview"),
    path("sheets/sent/<uuid:key>/columns/", columns.SheetColumnsView.as_view(), name="sheet_columns"),
    path("sheets/sent/<uuid:key>/to-correct.<str:wanted>", preview.SheetProblemsView.as_view(), name="sheet_problems"),
    path("sheets/sent/<uuid:key>/original", sheets.SheetOriginalView.as_view(), name="sheet_original"),
    path("sheets/<slug:kind>/", sheets.SheetSendView.as_view(), name="sheet_send"),
    path("sheets/<slug:kind>/template.<str:wanted>", sheets.SheetTemplateView.as_view(), name="sheet_template"),
    path("sheets/<slug:kind>/all.<str:wanted>", sheets.SheetExportView.as_view(), name="sheet_export"),
]
