"""Addresses of the calendar."""

from django.urls import path

from plantings.views.overview import calendar

urlpatterns = [
    path("calendar/", calendar.CalendarView.as_view(), name="calendar"),
    path("calendar/own/", calendar.OwnCalendarView.as_view(), name="calendar_own"),
    path("calendar/feed/<str:token>.ics", calendar.CalendarFeedView.as_view(), name="calendar_feed"),
]
