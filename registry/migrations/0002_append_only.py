from django.db import migrations

from registry.models.append_only import protect


class Migration(migrations.Migration):
    dependencies = [("registry", "0001_records")]
    operations = [migrations.RunPython(*protect("registry_ledgerentry", "registry_auditentry"))]
