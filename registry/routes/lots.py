"""Addresses of lots: the ledger, harvests, tests, treatments, storage, sowing, closing; the handbook."""

from django.urls import path

from registry.views.lots import handbook, harvests, ledger, lot_steps, lot_tools, lots, seed_tests

urlpatterns = [
    path("lots/", lots.LotListView.as_view(), name="lot_list"),
    path("lots/new/", lots.LotFormView.as_view(), name="lot_add"),
    path("lots/<int:pk>/", lots.LotDetailView.as_view(), name="lot_detail"),
    path("lots/<int:pk>/change/", lots.LotFormView.as_view(), name="lot_edit"),
    path("lots/<int:pk>/components/new/", lots.LotBulkView.as_view(), name="lot_bulk"),
    path("lots/<int:pk>/ledger/new/", ledger.LedgerAddView.as_view(), name="ledger_add"),
    path("ledger/", ledger.LedgerListView.as_view(), name="ledger_list"),
    path("ledger/<int:pk>/reverse/", ledger.LedgerReverseView.as_view(), name="ledger_reverse"),
    path("lots/harvest/", harvests.HarvestAddView.as_view(), name="harvest_add"),
    path("lots/raised/", lot_steps.RaisedView.as_view(), name="lot_raised"),
    path("lots/<int:pk>/picking/", harvests.LotPickView.as_view(), name="lot_pick"),
    path("lots/<int:pk>/tests/new/", seed_tests.SeedTestAddView.as_view(), name="lot_test"),
    path("lots/<int:pk>/treatments/new/", seed_tests.TreatmentAddView.as_view(), name="lot_treat"),
    path("lots/<int:pk>/storage/new/", seed_tests.StorageAddView.as_view(), name="lot_store"),
    path("lots/<int:pk>/sow/", lot_steps.LotSowView.as_view(), name="lot_sow"),
    path("lots/<int:pk>/raise/", lot_steps.LotRaiseView.as_view(), name="lot_raise"),
    path("lots/<int:pk>/cull/", lot_steps.LotCullView.as_view(), name="lot_cull"),
    path("lots/<int:pk>/split/", lot_steps.LotSplitView.as_view(), name="lot_split"),
    path("lots/components/<int:pk>/take-out/", lots.LotUnbulkView.as_view(), name="lot_unbulk"),
    path("lots/<int:pk>/put-back/", lot_steps.LotPutBackView.as_view(), name="lot_put_back"),
    path("lots/<int:pk>/close/", lot_steps.LotCloseView.as_view(), name="lot_close"),
    path("lots/<int:pk>/open/", lot_steps.LotReopenView.as_view(), name="lot_reopen"),
    path("lots/<int:pk>/tools/", lot_tools.LotToolsView.as_view(), name="lot_tools"),
    path("lots/<int:pk>/calendar/", lot_tools.LotCalendarView.as_view(), name="lot_calendar"),
    path("tests/<int:pk>/", seed_tests.SeedTestDetailView.as_view(), name="seedtest_detail"),
    path("tests/<int:pk>/correct/", seed_tests.SeedTestCorrectView.as_view(), name="seedtest_correct"),
    path("handbook/", handbook.HandbookListView.as_view(), name="handbook_list"),
    path("handbook/new/", handbook.HandbookFormView.as_view(), name="handbook_add"),
    path("handbook/<int:pk>/", handbook.HandbookDetailView.as_view(), name="handbook_detail"),
    path("handbook/<int:pk>/change/", handbook.HandbookFormView.as_view(), name="handbook_edit"),
    path("handbook/<int:pk>/verify/", handbook.HandbookVerifyView.as_view(), name="handbook_verify"),
]
