from django.urls import path

from plantings.views.sites import map as maps
from plantings.views.survival import results, survival

urlpatterns = [
    path("results/", results.ResultsView.as_view(), name="results"),
    path("results/survival/", survival.SurvivalView.as_view(), name="survival"),
    path("results/map/", maps.MapView.as_view(), name="map"),
    path("results/map/frame/", maps.MapEmbedView.as_view(), name="map_embed"),
    path("results/map/sites.geojson", maps.MapGeoJSONView.as_view(), name="map_geojson"),
    path("results/map/sites.gpkg", maps.MapGeoPackageView.as_view(), name="map_geopackage"),
    path("results/map/sites.html", maps.MapFileView.as_view(), name="map_file"),
]
