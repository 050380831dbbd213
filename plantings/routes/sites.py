"""Addresses of sites, boundaries and maps."""

from django.urls import path

from plantings.views.sites import map as maps
from plantings.views.sites import sites

urlpatterns = [
    path("sites/", sites.SiteListView.as_view(), name="site_list"),
    path("sites/new/", sites.SiteFormView.as_view(), name="site_add"),
    path("sites/<int:pk>/", sites.SiteDetailView.as_view(), name="site_detail"),
    path("sites/<int:pk>/change/", sites.SiteFormView.as_view(), name="site_edit"),
    path("sites/<int:pk>/boundary/", sites.SiteBoundaryView.as_view(), name="site_boundary"),
    path("boundaries/", sites.BoundaryListView.as_view(), name="boundary_list"),
    path("boundaries/new/", sites.BoundaryAddView.as_view(), name="boundary_add"),
    path("boundaries/<int:pk>/withdraw/", sites.BoundaryWithdrawView.as_view(), name="boundary_withdraw"),
    path("results/map/", maps.MapView.as_view(), name="map"),
    path("results/map/frame/", maps.MapEmbedView.as_view(), name="map_embed"),
    path("results/map/sites.geojson", maps.MapGeoJSONView.as_view(), name="map_geojson"),
    path("results/map/sites.gpkg", maps.MapGeoPackageView.as_view(), name="map_geopackage"),
    path("results/map/sites.html", maps.MapFileView.as_view(), name="map_file"),
]
