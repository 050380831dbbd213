from functools import partial

from django.db import migrations, models

from plantings.models.measured_columns import class_choices
from registry.models.append_only import protect_again


class Migration(migrations.Migration):
    dependencies = [("plantings", "0002_append_only")]
    operations = [
        migrations.AddField(
            model_name="observation",
            name="flowering",
            field=models.CharField(blank=True, choices=partial(class_choices, "flowering"), max_length=10),
        ),
        migrations.RunPython(*protect_again("plantings_observation")),
    ]
