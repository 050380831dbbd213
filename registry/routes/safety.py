"""Addresses of the cautions."""

from django.urls import path

from registry.views.safety import cautions

urlpatterns = [
    path("cautions/", cautions.CautionListView.as_view(), name="cautiontext_list"),
    path("cautions/new/", cautions.CautionAddView.as_view(), name="cautiontext_add"),
    path("cautions/read/", cautions.CautionReadView.as_view(), name="caution_read"),
    path("cautions/<int:pk>/", cautions.CautionDetailView.as_view(), name="cautiontext_detail"),
    path("cautions/<int:pk>/version/", cautions.CautionVersionView.as_view(), name="cautiontext_edit"),
    path("cautions/<int:pk>/withdraw/", cautions.CautionWithdrawView.as_view(), name="cautiontext_withdraw"),
]
