from django.urls import include, path

urlpatterns = [
    path("", include("plantings.routes.overview")),
    path("", include("plantings.routes.records")),
    path("", include("plantings.routes.results")),
    path("", include("plantings.routes.sheets")),
]
