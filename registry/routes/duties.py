"""Addresses of duties, clocks and incidents."""

from django.urls import path

from registry.views.duties import clocks as duty_clocks
from registry.views.duties import done as duty_done
from registry.views.duties import duties, incidents

urlpatterns = [
    path("duties/", duties.DutyListView.as_view(), name="duty_list"),
    path("duties/new/", duties.DutyFormView.as_view(), name="duty_add"),
    path("duties/<int:pk>/", duties.DutyDetailView.as_view(), name="duty_detail"),
    path("duties/<int:pk>/change/", duties.DutyFormView.as_view(), name="duty_edit"),
    path("duties/<int:pk>/done/", duty_done.DutyDoneView.as_view(), name="duty_done"),
    path("duties/<int:pk>/close/", duty_done.DutyCloseView.as_view(), name="duty_close"),
    path("duties/done/<int:pk>/correct/", duty_done.DutyDoneCorrectView.as_view(), name="duty_done_correct"),
    path("duties/done/<int:pk>/file", duty_done.DutyFileView.as_view(), name="duty_file"),
    path("papers/<int:pk>/duties/", duty_clocks.AuthorizationDutiesView.as_view(), name="authorization_duties"),
    path("papers/<int:pk>/clocks/new/", duty_clocks.ReportingClockAddView.as_view(), name="reportingclock_add"),
    path("papers/clocks/<int:pk>/change/", duty_clocks.ReportingClockEditView.as_view(), name="reportingclock_edit"),
    path("incidents/", incidents.IncidentListView.as_view(), name="incident_list"),
    path("incidents/new/", incidents.IncidentFormView.as_view(), name="incident_add"),
    path("incidents/<int:pk>/", incidents.IncidentDetailView.as_view(), name="incident_detail"),
    path("incidents/<int:pk>/change/", incidents.IncidentFormView.as_view(), name="incident_edit"),
    path("incidents/<int:pk>/told/", incidents.IncidentNoticeView.as_view(), name="incident_notice"),
    path("incidents/<int:pk>/close/", incidents.IncidentCloseView.as_view(), name="incident_close"),
    path("incidents/notices/<int:pk>/correct/", incidents.IncidentNoticeCorrectView.as_view(), name="incident_correct"),
    path("incidents/notices/<int:pk>/file", incidents.IncidentFileView.as_view(), name="incident_file"),
]
