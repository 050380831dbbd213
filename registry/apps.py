from django.apps import AppConfig


class RegistryConfig(AppConfig):
    name = "registry"
    verbose_name = "Registry: material, partners, movements, papers"
