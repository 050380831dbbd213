from django.apps import AppConfig


class RegistryConfig(AppConfig):
    name = "registry"
    verbose_name = "Registry: material, partners, movements, papers"

    def ready(self):
        from django.db.models.signals import post_save

        from registry.selectors.audit.record_hashes import append_only_models
        from registry.services.audit.trail import record_remember

        for model in append_only_models():
            if model._meta.model_name != "auditentry":
                post_save.connect(record_remember, sender=model, dispatch_uid=model._meta.label)
