"""Addresses of the office's side of the land: agreements, private links, messages from landowners."""

from django.urls import path

from registry.views.land import agreements, links, notices

urlpatterns = [
    path("agreements/", agreements.AgreementTextListView.as_view(), name="agreementtext_list"),
    path("agreements/new/", agreements.AgreementTextAddView.as_view(), name="agreementtext_add"),
    path("agreements/<int:pk>/", agreements.AgreementTextDetailView.as_view(), name="agreementtext_detail"),
    path("agreements/<int:pk>/version/", agreements.AgreementVersionView.as_view(), name="agreementtext_edit"),
    path("papers/<int:pk>/sign/", agreements.AuthorizationSignView.as_view(), name="authorization_sign"),
    path("partners/<int:pk>/link/", links.PartnerLinkView.as_view(), name="partner_link"),
    path("partners/<int:pk>/word/", notices.PartnerNoticeView.as_view(), name="partner_notice"),
    path("partners/links/<int:pk>/take-back/", links.LinkRevokeView.as_view(), name="privatelink_revoke"),
    path("landowners/word/", notices.LandNoticeListView.as_view(), name="landnotice_list"),
    path("landowners/word/<int:pk>/", notices.LandNoticeDetailView.as_view(), name="landnotice_detail"),
    path("landowners/word/<int:pk>/act/", notices.LandNoticeHandleView.as_view(), name="landnotice_handle"),
]
