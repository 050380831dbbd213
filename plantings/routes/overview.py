"""Addresses of Today, the code box, the trace, the calendar and help."""

from django.urls import path

from plantings.views.overview import book_export, calendar, dated_ahead, help, today

urlpatterns = [
    path("", today.TodayView.as_view(), name="today"),
    path("today/ahead/", dated_ahead.DatedAheadView.as_view(), name="today_ahead"),
    path("find/", today.FindView.as_view(), name="find"),
    path("trace/", today.TraceView.as_view(), name="trace"),
    path("help/", help.HelpView.as_view(), name="help"),
    path("export/", book_export.BookExportView.as_view(), name="book_export"),
    path("calendar/", calendar.CalendarView.as_view(), name="calendar"),
    path("calendar/own/", calendar.OwnCalendarView.as_view(), name="calendar_own"),
    path("calendar/feed/<str:token>.ics", calendar.CalendarFeedView.as_view(), name="calendar_feed"),
]
