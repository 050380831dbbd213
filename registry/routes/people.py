"""Addresses of the people and of the programme's settings."""

from django.urls import path

from registry.views.people import people, programme, tokens

urlpatterns = [
    path("people/", people.PersonListView.as_view(), name="person_list"),
    path("people/new/", people.PersonFormView.as_view(), name="person_add"),
    path("people/<int:pk>/", people.PersonDetailView.as_view(), name="person_detail"),
    path("people/<int:pk>/change/", people.PersonFormView.as_view(), name="person_edit"),
    path("people/<int:pk>/link/", people.PersonLinkView.as_view(), name="person_link"),
    path("people/<int:pk>/unlock/", people.PersonUnlockView.as_view(), name="person_unlock"),
    path("people/<int:pk>/token/", tokens.PersonTokenView.as_view(), name="person_token"),
    path("people/tokens/", tokens.AccessTokenListView.as_view(), name="accesstoken_list"),
    path("people/tokens/<int:pk>/revoke/", tokens.AccessTokenRevokeView.as_view(), name="accesstoken_revoke"),
    path("settings/", programme.SettingListView.as_view(), name="setting_list"),
    path("settings/<slug:setting>/", programme.SettingFormView.as_view(), name="setting_edit"),
]
