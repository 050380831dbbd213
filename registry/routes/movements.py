"""Addresses of shipments, receipts and partners."""

from django.urls import path

from registry.views.movements import leftovers, partners, prints, receipts, shipment_steps, shipments

urlpatterns = [
    path("partners/", partners.PartnerListView.as_view(), name="partner_list"),
    path("partners/new/", partners.PartnerFormView.as_view(), name="partner_add"),
    path("partners/<int:pk>/", partners.PartnerDetailView.as_view(), name="partner_detail"),
    path("partners/<int:pk>/change/", partners.PartnerFormView.as_view(), name="partner_edit"),
    path("shipments/", shipments.ShipmentListView.as_view(), name="shipment_list"),
    path("shipments/new/", shipment_steps.ShipmentFormView.as_view(), name="shipment_add"),
    path("shipments/<int:pk>/", shipments.ShipmentDetailView.as_view(), name="shipment_detail"),
    path("shipments/<int:pk>/change/", shipment_steps.ShipmentFormView.as_view(), name="shipment_edit"),
    path("shipments/<int:pk>/lots/new/", shipment_steps.ShipmentLineAddView.as_view(), name="shipment_line_add"),
    path("shipments/lines/<int:pk>/remove/", shipment_steps.ShipmentLineRemoveView.as_view(), name="shipment_line_remove"),
    path("shipments/<int:pk>/dispatch/", shipment_steps.ShipmentDispatchView.as_view(), name="shipment_dispatch"),
    path("shipments/<int:pk>/take-back/", shipment_steps.ShipmentTakeBackView.as_view(), name="shipment_take_back"),
    path("shipments/<int:pk>/cancel/", shipment_steps.ShipmentCancelView.as_view(), name="shipment_cancel"),
    path("shipments/<int:pk>/packing-list/", prints.ShipmentPackingView.as_view(), name="shipment_packing"),
    path("shipments/<int:pk>/receipts/new/", receipts.ReceiptAddView.as_view(), name="receipt_add"),
    path("receipts/", receipts.ReceiptListView.as_view(), name="receipt_list"),
    path("receipts/<int:pk>/", receipts.ReceiptDetailView.as_view(), name="receipt_detail"),
    path("receipts/<int:pk>/take-back/", receipts.ReceiptTakeBackView.as_view(), name="receipt_take_back"),
    path("leftovers/<int:pk>/take-back/", leftovers.LeftoverTakeBackView.as_view(), name="leftover_take_back"),
    path("shipments/<int:pk>/health-draft/", prints.ShipmentHealthDraftView.as_view(), name="shipment_health_draft"),
]
