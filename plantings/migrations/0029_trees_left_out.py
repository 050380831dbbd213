from django.db import migrations, models

from registry.services.audit.taking_over import take_over

STATED = (("planting", ("code", "site_id", "planted_on", "trees_left_out"), ""),)


def take_over_plantings(apps, schema_editor):
    take_over(apps, app="plantings", stated=STATED)


class Migration(migrations.Migration):
    dependencies = [("plantings", "0028_one_index_of_rounds"), ("registry", "0032_settlements_have_a_time")]
    operations = [
        migrations.AddField(
            model_name="planting",
            name="trees_left_out",
            field=models.BooleanField(default=False, verbose_name="some planted trees are not on record"),
        ),
        migrations.RunPython(take_over_plantings, migrations.RunPython.noop),
    ]
