from django.urls import path

from plantings.views.identity import impact
from plantings.views.overview import help
from plantings.views.overview import today as overview

urlpatterns = [
    path("", overview.TodayView.as_view(), name="today"),
    path("find/", overview.FindView.as_view(), name="find"),
    path("trace/", overview.TraceView.as_view(), name="trace"),
    # the address is older than the name, and people have bookmarked it
    path("touches/<str:kind>/<int:pk>/", impact.ImpactView.as_view(), name="impact"),
    path("help/", help.HelpView.as_view(), name="help"),
    path("help/parts/", help.PartsView.as_view(), name="help_parts"),
]
