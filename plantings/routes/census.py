"""Addresses of the census: rounds, records, counts, the field form."""

from django.urls import path

from plantings.views.census import census, corrections, counts, field_form, phone, protocols, review, round_links, rounds

urlpatterns = [
    path("measurements/", protocols.MeasurementListView.as_view(), name="ownmeasurement_list"),
    path("measurements/new/", protocols.MeasurementAddView.as_view(), name="ownmeasurement_add"),
    path("measurements/<int:pk>/", protocols.MeasurementDetailView.as_view(), name="ownmeasurement_detail"),
    path("measurements/<int:pk>/version/", protocols.MeasurementVersionView.as_view(), name="ownmeasurement_edit"),
    path("protocols/", protocols.ProtocolListView.as_view(), name="protocol_list"),
    path("protocols/new/", protocols.ProtocolAddView.as_view(), name="protocol_add"),
    path("protocols/<int:pk>/", protocols.ProtocolDetailView.as_view(), name="protocol_detail"),
    path("protocols/<int:pk>/version/", protocols.ProtocolVersionView.as_view(), name="protocol_edit"),
    path("rounds/", rounds.RoundListView.as_view(), name="round_list"),
    path("rounds/new/", rounds.RoundFormView.as_view(), name="round_add"),
    path("rounds/<int:pk>/", rounds.RoundDetailView.as_view(), name="round_detail"),
    path("rounds/<int:pk>/change/", rounds.RoundFormView.as_view(), name="round_edit"),
    path("rounds/<int:pk>/review/", review.RoundReviewView.as_view(), name="round_review"),
    path("rounds/<int:pk>/records/", rounds.RoundRecordsView.as_view(), name="round_records"),
    path("rounds/<int:pk>/census/", census.CensusGridView.as_view(), name="census_grid"),
    path("rounds/<int:pk>/census/next/", census.CensusNextView.as_view(), name="census_next"),
    path("rounds/<int:pk>/census/<int:tree>/", census.CensusTreeView.as_view(), name="census_tree"),
    path("rounds/<int:pk>/field-form/", field_form.FieldFormView.as_view(), name="field_form"),
    path("rounds/<int:pk>/counts/", counts.CensusCountsView.as_view(), name="census_counts"),
    path("rounds/<int:pk>/link/", round_links.RoundLinkView.as_view(), name="round_link"),
    path("rounds/links/<int:pk>/revoke/", round_links.RoundLinkRevokeView.as_view(), name="roundlink_revoke"),
    path("phone/", phone.PhoneHomeView.as_view(), name="phone_home"),
    path("phone/worker.js", phone.PhoneWorkerView.as_view(), name="phone_worker"),
    path("phone/manifest.webmanifest", phone.PhoneManifestView.as_view(), name="phone_manifest"),
    path("phone/ping/", phone.CensusPhonePingView.as_view(), name="census_phone_ping"),
    path("phone/link/", phone.PhoneByLinkView.as_view(), name="phone_by_link"),
    path("phone/<int:pk>/", phone.CensusPhoneView.as_view(), name="census_phone"),
    path("phone/<int:pk>/data/", phone.CensusPhoneDataView.as_view(), name="census_phone_data"),
    path("observations/<int:pk>/correct/", corrections.ObservationCorrectView.as_view(), name="observation_correct"),
    path("counts/<int:pk>/correct/", corrections.PlotCountCorrectView.as_view(), name="plotcount_correct"),
]
