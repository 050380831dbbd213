"""Addresses of the registry's records: plain words, one name per screen (`<model>_list`, `_detail`, `_add`, `_edit`)."""

from django.urls import path

from registry.views.audit import trail as audit
from registry.views.lots import ledger, lots
from registry.views.movements import partners, receipts
from registry.views.movements import prints as packing
from registry.views.movements import shipments as movements
from registry.views.orchard import pools
from registry.views.pedigree import taxa as material
from registry.views.pedigree import trees as pedigree
from registry.views.people import people
from registry.views.permits import authorizations as papers

urlpatterns = [
    path("lots/", lots.LotListView.as_view(), name="lot_list"),
    path("lots/new/", lots.LotFormView.as_view(), name="lot_add"),
    path("lots/<int:pk>/", lots.LotDetailView.as_view(), name="lot_detail"),
    path("lots/<int:pk>/change/", lots.LotFormView.as_view(), name="lot_edit"),
    path("lots/<int:pk>/components/new/", lots.LotBulkView.as_view(), name="lot_bulk"),
    path("lots/<int:pk>/ledger/new/", ledger.LedgerAddView.as_view(), name="ledger_add"),
    path("ledger/", ledger.LedgerListView.as_view(), name="ledger_list"),
    path("ledger/<int:pk>/reverse/", ledger.LedgerReverseView.as_view(), name="ledger_reverse"),
    path("taxa/", material.TaxonListView.as_view(), name="taxon_list"),
    path("taxa/new/", material.TaxonFormView.as_view(), name="taxon_add"),
    path("taxa/<int:pk>/", material.TaxonDetailView.as_view(), name="taxon_detail"),
    path("taxa/<int:pk>/change/", material.TaxonFormView.as_view(), name="taxon_edit"),
    path("pollen-pools/", pools.PollenPoolListView.as_view(), name="pollenpool_list"),
    path("pollen-pools/new/", pools.PollenPoolFormView.as_view(), name="pollenpool_add"),
    path("pollen-pools/<int:pk>/", pools.PollenPoolDetailView.as_view(), name="pollenpool_detail"),
    path("pollen-pools/<int:pk>/change/", pools.PollenPoolFormView.as_view(), name="pollenpool_edit"),
    path("mother-trees/", pedigree.PedigreeTreeListView.as_view(), name="pedigreetree_list"),
    path("mother-trees/new/", pedigree.PedigreeTreeFormView.as_view(), name="pedigreetree_add"),
    path("mother-trees/<int:pk>/", pedigree.PedigreeTreeDetailView.as_view(), name="pedigreetree_detail"),
    path("mother-trees/<int:pk>/change/", pedigree.PedigreeTreeFormView.as_view(), name="pedigreetree_edit"),
    path("mother-trees/<int:pk>/status/", pedigree.PedigreeTreeStatusView.as_view(), name="pedigreetree_status"),
    path("partners/", partners.PartnerListView.as_view(), name="partner_list"),
    path("partners/new/", partners.PartnerFormView.as_view(), name="partner_add"),
    path("partners/<int:pk>/", partners.PartnerDetailView.as_view(), name="partner_detail"),
    path("partners/<int:pk>/change/", partners.PartnerFormView.as_view(), name="partner_edit"),
    path("shipments/", movements.ShipmentListView.as_view(), name="shipment_list"),
    path("shipments/new/", movements.ShipmentFormView.as_view(), name="shipment_add"),
    path("shipments/<int:pk>/", movements.ShipmentDetailView.as_view(), name="shipment_detail"),
    path("shipments/<int:pk>/change/", movements.ShipmentFormView.as_view(), name="shipment_edit"),
    path("shipments/<int:pk>/lots/new/", movements.ShipmentLineAddView.as_view(), name="shipment_line_add"),
    path("shipments/lines/<int:pk>/remove/", movements.ShipmentLineRemoveView.as_view(), name="shipment_line_remove"),
    path("shipments/<int:pk>/dispatch/", movements.ShipmentDispatchView.as_view(), name="shipment_dispatch"),
    path("shipments/<int:pk>/cancel/", movements.ShipmentCancelView.as_view(), name="shipment_cancel"),
    path("shipments/<int:pk>/packing-list/", packing.ShipmentPackingView.as_view(), name="shipment_packing"),
    path("shipments/<int:pk>/receipts/new/", receipts.ReceiptAddView.as_view(), name="receipt_add"),
    path("receipts/", receipts.ReceiptListView.as_view(), name="receipt_list"),
    path("receipts/<int:pk>/", receipts.ReceiptDetailView.as_view(), name="receipt_detail"),
    path("papers/", papers.AuthorizationListView.as_view(), name="authorization_list"),
    path("papers/new/", papers.AuthorizationFormView.as_view(), name="authorization_add"),
    path("papers/<int:pk>/", papers.AuthorizationDetailView.as_view(), name="authorization_detail"),
    path("papers/<int:pk>/change/", papers.AuthorizationFormView.as_view(), name="authorization_edit"),
    path("people/", people.PersonListView.as_view(), name="person_list"),
    path("people/new/", people.PersonFormView.as_view(), name="person_add"),
    path("people/<int:pk>/", people.PersonDetailView.as_view(), name="person_detail"),
    path("people/<int:pk>/change/", people.PersonFormView.as_view(), name="person_edit"),
    path("people/<int:pk>/link/", people.PersonLinkView.as_view(), name="person_link"),
    path("changes/", audit.AuditListView.as_view(), name="audit_list"),
]
