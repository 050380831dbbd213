from django.urls import path

from plantings.views.identity import impact as touches
from plantings.views.overview import help
from plantings.views.overview import today as overview

urlpatterns = [
    path("", overview.TodayView.as_view(), name="today"),
    path("find/", overview.FindView.as_view(), name="find"),
    path("trace/", overview.TraceView.as_view(), name="trace"),
    path("touches/<str:kind>/<int:pk>/", touches.TouchesView.as_view(), name="touches"),
    path("help/", help.HelpView.as_view(), name="help"),
]
