from django.db import migrations, models

import plantings.choices
from registry.models.append_only import protect_again


class Migration(migrations.Migration):
    dependencies = [("plantings", "0002_append_only")]
    operations = [
        migrations.AddField(
            model_name="observation",
            name="flowering",
            field=models.CharField(blank=True, choices=plantings.choices.flowerings, max_length=10),
        ),
        migrations.RunPython(*protect_again("plantings_observation")),
    ]
