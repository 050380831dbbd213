from django.urls import include, path

urlpatterns = [
    path("", include("plantings.routes.overview")),
    path("", include("plantings.routes.sites")),
    path("", include("plantings.routes.plantings")),
    path("", include("plantings.routes.census")),
    path("", include("plantings.routes.reports")),
    path("", include("plantings.routes.survival")),
    path("", include("plantings.routes.identity")),
    path("", include("plantings.routes.land")),
    path("", include("plantings.routes.permit_file")),
    path("", include("plantings.routes.sheets")),
]
