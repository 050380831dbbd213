from django.db import migrations

from registry.models.append_only import protect_again
from registry.services.audit.taking_over import take_over

TREE = ("tag", "entry_id", "entry__lot_id", "entry__role", "block_id", "row", "position", "occupant", "planted_on", "replaces_id")
STATED = (
    ("site", ("code", "partner_id", "longitude", "latitude", "jurisdiction"), ""),
    ("planting", ("code", "site_id", "planted_on"), ""),
    ("tree", TREE, "planting_id"),
)


def take_over_records(apps, schema_editor):
    take_over(apps, app="plantings", append_only=("plotcount",), stated=STATED)


class Migration(migrations.Migration):
    dependencies = [("plantings", "0004_complete_rounds"), ("registry", "0013_append_only_replace")]
    operations = [
        migrations.RunPython(*protect_again("plantings_observation", "plantings_plotcount")),
        migrations.RunPython(take_over_records, migrations.RunPython.noop),
    ]
