from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in
from django.core import checks

from registry.system_checks import check_settings


class RegistryConfig(AppConfig):
    name = "registry"
    verbose_name = "Registry: material, partners, movements, papers"

    def ready(self):
        from registry.access.sign_in import note_sign_in
        from registry.forms.shared.hidden_signs import every_box_refuses_hidden_signs
        from registry.models.shared.json_support import json_support_without_lock
        from registry.models.shared.large_numbers import compare_numbers_of_any_size
        from registry.models.shared.same_text import compare_texts_of_any_length

        json_support_without_lock()
        compare_numbers_of_any_size()
        compare_texts_of_any_length()
        every_box_refuses_hidden_signs()
        checks.register(check_settings)
        user_logged_in.connect(note_sign_in, dispatch_uid="note_sign_in")
