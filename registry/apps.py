from django.apps import AppConfig
from django.core import checks

from registry.system_checks import check_settings


class RegistryConfig(AppConfig):
    name = "registry"
    verbose_name = "Registry: material, partners, movements, papers"

    def ready(self):
        checks.register(check_settings)
