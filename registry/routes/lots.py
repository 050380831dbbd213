"""Addresses of what is done with a lot: harvest, tests, treatments, storage, sowing, closing; the handbook."""

from django.urls import path

from registry.views.lots import handbook, harvests, lot_tools, lots, seed_tests
from registry.views.lots import lot_steps as seedlots

urlpatterns = [
    path("lots/harvest/", harvests.HarvestAddView.as_view(), name="harvest_add"),
    path("lots/raised/", seedlots.RaisedView.as_view(), name="lot_raised"),
    path("lots/<int:pk>/picking/", harvests.LotPickView.as_view(), name="lot_pick"),
    path("lots/<int:pk>/tests/new/", seed_tests.SeedTestAddView.as_view(), name="lot_test"),
    path("lots/<int:pk>/treatments/new/", seed_tests.TreatmentAddView.as_view(), name="lot_treat"),
    path("lots/<int:pk>/storage/new/", seed_tests.StorageAddView.as_view(), name="lot_store"),
    path("lots/<int:pk>/sow/", seedlots.LotSowView.as_view(), name="lot_sow"),
    path("lots/<int:pk>/raise/", seedlots.LotRaiseView.as_view(), name="lot_raise"),
    path("lots/<int:pk>/cull/", seedlots.LotCullView.as_view(), name="lot_cull"),
    path("lots/<int:pk>/split/", seedlots.LotSplitView.as_view(), name="lot_split"),
    path("lots/components/<int:pk>/take-out/", lots.LotUnbulkView.as_view(), name="lot_unbulk"),
    path("lots/<int:pk>/put-back/", seedlots.LotPutBackView.as_view(), name="lot_put_back"),
    path("lots/<int:pk>/close/", seedlots.LotCloseView.as_view(), name="lot_close"),
    path("lots/<int:pk>/open/", seedlots.LotReopenView.as_view(), name="lot_reopen"),
    path("lots/<int:pk>/reckon/", lot_tools.LotToolsView.as_view(), name="lot_tools"),
    path("lots/<int:pk>/calendar/", lot_tools.LotCalendarView.as_view(), name="lot_calendar"),
    path("tests/<int:pk>/", seed_tests.SeedTestDetailView.as_view(), name="seedtest_detail"),
    path("tests/<int:pk>/correct/", seed_tests.SeedTestCorrectView.as_view(), name="seedtest_correct"),
    path("handbook/", handbook.HandbookListView.as_view(), name="handbook_list"),
    path("handbook/new/", handbook.HandbookFormView.as_view(), name="handbook_add"),
    path("handbook/<int:pk>/", handbook.HandbookDetailView.as_view(), name="handbook_detail"),
    path("handbook/<int:pk>/change/", handbook.HandbookFormView.as_view(), name="handbook_edit"),
    path("handbook/<int:pk>/verify/", handbook.HandbookVerifyView.as_view(), name="handbook_verify"),
]
