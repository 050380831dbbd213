from django.urls import path

from plantings.views import help, overview

urlpatterns = [
    path("", overview.TodayView.as_view(), name="today"),
    path("find/", overview.FindView.as_view(), name="find"),
    path("trace/", overview.TraceView.as_view(), name="trace"),
    path("help/", help.HelpView.as_view(), name="help"),
    path("help/parts/", help.PartsView.as_view(), name="help_parts"),
]
