"""Addresses of the office's side of the land: agreements, private links, messages from landowners."""

from django.urls import path

from registry.views.land import land

urlpatterns = [
    path("agreements/", land.AgreementTextListView.as_view(), name="agreementtext_list"),
    path("agreements/new/", land.AgreementTextAddView.as_view(), name="agreementtext_add"),
    path("agreements/<int:pk>/", land.AgreementTextDetailView.as_view(), name="agreementtext_detail"),
    path("agreements/<int:pk>/version/", land.AgreementVersionView.as_view(), name="agreementtext_edit"),
    path("papers/<int:pk>/sign/", land.AuthorizationSignView.as_view(), name="authorization_sign"),
    path("partners/<int:pk>/link/", land.PartnerLinkView.as_view(), name="partner_link"),
    path("partners/<int:pk>/word/", land.PartnerNoticeView.as_view(), name="partner_notice"),
    path("partners/links/<int:pk>/take-back/", land.LinkRevokeView.as_view(), name="privatelink_revoke"),
    path("landowners/word/", land.LandNoticeListView.as_view(), name="landnotice_list"),
    path("landowners/word/<int:pk>/", land.LandNoticeDetailView.as_view(), name="landnotice_detail"),
    path("landowners/word/<int:pk>/act/", land.LandNoticeHandleView.as_view(), name="landnotice_handle"),
]
