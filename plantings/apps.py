from django.apps import AppConfig


class PlantingsConfig(AppConfig):
    name = "plantings"
    verbose_name = "Plantings: sites, trees, census, survival"
