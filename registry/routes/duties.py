"""Addresses of duties, reporting clocks and incidents."""

from django.urls import path

from registry.views.duties import clocks, done, duties, incidents

urlpatterns = [
    path("duties/", duties.DutyListView.as_view(), name="duty_list"),
    path("duties/new/", duties.DutyFormView.as_view(), name="duty_add"),
    path("duties/<int:pk>/", duties.DutyDetailView.as_view(), name="duty_detail"),
    path("duties/<int:pk>/change/", duties.DutyFormView.as_view(), name="duty_edit"),
    path("duties/<int:pk>/done/", done.DutyDoneView.as_view(), name="duty_done"),
    path("duties/<int:pk>/close/", done.DutyCloseView.as_view(), name="duty_close"),
    path("duties/done/<int:pk>/correct/", done.DutyDoneCorrectView.as_view(), name="duty_done_correct"),
    path("duties/done/<int:pk>/file", done.DutyFileView.as_view(), name="duty_file"),
    path("papers/<int:pk>/duties/", clocks.AuthorizationDutiesView.as_view(), name="authorization_duties"),
    path("papers/<int:pk>/clocks/new/", clocks.ReportingClockAddView.as_view(), name="reportingclock_add"),
    path("papers/clocks/<int:pk>/change/", clocks.ReportingClockEditView.as_view(), name="reportingclock_edit"),
    path("incidents/", incidents.IncidentListView.as_view(), name="incident_list"),
    path("incidents/new/", incidents.IncidentFormView.as_view(), name="incident_add"),
    path("incidents/<int:pk>/", incidents.IncidentDetailView.as_view(), name="incident_detail"),
    path("incidents/<int:pk>/change/", incidents.IncidentFormView.as_view(), name="incident_edit"),
    path("incidents/<int:pk>/told/", incidents.IncidentNoticeView.as_view(), name="incident_notice"),
    path("incidents/<int:pk>/close/", incidents.IncidentCloseView.as_view(), name="incident_close"),
    path("incidents/notices/<int:pk>/correct/", incidents.IncidentNoticeCorrectView.as_view(), name="incident_correct"),
    path("incidents/notices/<int:pk>/file", incidents.IncidentFileView.as_view(), name="incident_file"),
]
