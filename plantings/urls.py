from django.urls import include, path

urlpatterns = [
    path("", include("plantings.routes.overview")),
    path("", include("plantings.routes.calendar")),
    path("", include("plantings.routes.records")),
    path("", include("plantings.routes.results")),
    path("", include("plantings.routes.land")),
    path("", include("plantings.routes.permit")),
    path("", include("plantings.routes.sheets")),
]
