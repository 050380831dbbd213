from django.db import migrations

from registry.models.append_only import protect


class Migration(migrations.Migration):
    dependencies = [("plantings", "0001_records"), ("registry", "0002_append_only")]
    operations = [migrations.RunPython(*protect("plantings_observation", "plantings_plotcount"))]
