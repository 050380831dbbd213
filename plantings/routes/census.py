"""Addresses of the census: rounds, records, counts, the field form."""

from django.urls import path

from plantings.views.census import census, corrections, counts, field_form, phone, review, round_links, rounds, second, second_entry

urlpatterns = [
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
    path("rounds/<int:pk>/second/", second.RoundSecondView.as_view(), name="round_second"),
    path("rounds/<int:pk>/second/draw/", second.SecondDrawView.as_view(), name="seconddraw_add"),
    path("second/<int:pk>/", second.SecondDetailView.as_view(), name="seconddraw_detail"),
    path("second/<int:pk>/trees/", second.SecondTreesView.as_view(), name="seconddraw_trees"),
    path("second/<int:pk>/close/", second.SecondCloseView.as_view(), name="seconddraw_close"),
    path("second/<int:pk>/measure/", second_entry.SecondGridView.as_view(), name="seconddraw_enter"),
    path("second/<int:pk>/form/", second_entry.SecondFormView.as_view(), name="seconddraw_form"),
    path("second/records/<int:pk>/correct/", second_entry.SecondCorrectView.as_view(), name="secondmeasurement_correct"),
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
