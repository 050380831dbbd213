"""Addresses of loading a sheet."""

from django.urls import path

from plantings.views.sheets import columns, combined, combined_preview, loads, preview, sheets

urlpatterns = [
    path("sheets/", sheets.SheetListView.as_view(), name="sheet_list"),
    path("sheets/sent/<uuid:key>/", preview.SheetPreviewView.as_view(), name="sheet_preview"),
    path("sheets/sent/<uuid:key>/columns/", columns.SheetColumnsView.as_view(), name="sheet_columns"),
    path("sheets/sent/<uuid:key>/to-correct.<str:wanted>", preview.SheetProblemsView.as_view(), name="sheet_problems"),
    path("sheets/sent/<uuid:key>/original", sheets.SheetOriginalView.as_view(), name="sheet_original"),
    path("sheets/combined/", combined.CombinedSendView.as_view(), name="combined_send"),
    path("sheets/combined/<uuid:combined>/", combined_preview.CombinedPreviewView.as_view(), name="combined_preview"),
    path("sheets/combined/<uuid:combined>/original", combined_preview.CombinedOriginalView.as_view(), name="combined_original"),
    path("sheets/combined/<uuid:combined>/kinds/", combined.CombinedPartsView.as_view(), name="combined_parts"),
    path("sheets/combined/<uuid:combined>/kinds/<slug:kind>/", combined.CombinedPartView.as_view(), name="combined_part"),
    path(
        "sheets/combined/<uuid:combined>/to-correct.<str:wanted>", combined_preview.CombinedProblemsView.as_view(), name="combined_problems"
    ),
    path("sheets/loads/", loads.LoadListView.as_view(), name="load_list"),
    path("sheets/loads/<int:pk>/", loads.LoadDetailView.as_view(), name="load_detail"),
    path("sheets/loads/<int:pk>/rest.<str:wanted>", loads.LoadRestView.as_view(), name="load_rest"),
    path("sheets/loads/<int:pk>/leave-out/", loads.LoadLeaveOutView.as_view(), name="load_leave_out"),
    path("sheets/loads/<int:pk>/withdraw/", loads.LoadWithdrawView.as_view(), name="load_withdraw"),
    path("sheets/<slug:kind>/", sheets.SheetSendView.as_view(), name="sheet_send"),
    path("sheets/<slug:kind>/template.<str:wanted>", sheets.SheetTemplateView.as_view(), name="sheet_template"),
    path("sheets/<slug:kind>/all.<str:wanted>", sheets.SheetExportView.as_view(), name="sheet_export"),
]
