"""The OpenAPI description of the read-only interface, from the declarations that its answers are made from."""

from django.urls import reverse

from plantings.calc.api.openapi import Endpoint, openapi
from plantings.views.api.answers import (
    GrowthApiView,
    LifetimesApiView,
    LineagesApiView,
    LotsApiView,
    MeasuredApiView,
    PlantingsApiView,
    SitesApiView,
    SurvivalApiView,
)
from plantings.views.api.long_data import DataApiView
from plantings.views.api.models import ModelTaskView
from registry.views.shared.json_api import JsonApiView

VERSION = "1"
API_VIEWS = {
    "api_survival": SurvivalApiView, "api_lineages": LineagesApiView, "api_lifetimes": LifetimesApiView, "api_growth": GrowthApiView,
    "api_measurements": MeasuredApiView, "api_data": DataApiView, "api_sites": SitesApiView, "api_plantings": PlantingsApiView,
    "api_lots": LotsApiView,
}  # fmt: skip


class OpenApiView(JsonApiView):
    action = "map.view"

    def get_answer(self):
        endpoints = [
            Endpoint(view.path, name, str(view.summary), view.parameters(self.user), view.shape_now(), view.later)
            for name, view in API_VIEWS.items()
        ]
        endpoints.append(ModelTaskView.endpoint)
        server = reverse("api_openapi").removesuffix("/openapi.json")
        return openapi(endpoints, VERSION, self.request.build_absolute_uri(server))
