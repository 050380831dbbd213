"""Addresses of long work that people started."""

from django.urls import path

from registry.views.jobs import jobs

urlpatterns = [
    path("jobs/", jobs.JobListView.as_view(), name="job_list"),
    path("jobs/<int:pk>/", jobs.JobDetailView.as_view(), name="job_detail"),
    path("jobs/<int:pk>/now/", jobs.JobNowView.as_view(), name="job_now"),
    path("jobs/<int:pk>/file/", jobs.JobFileView.as_view(), name="job_file"),
    path("jobs/<int:pk>/cancel/", jobs.JobCancelView.as_view(), name="job_cancel"),
    path("jobs/<int:pk>/again/", jobs.JobAgainView.as_view(), name="job_again"),
]
