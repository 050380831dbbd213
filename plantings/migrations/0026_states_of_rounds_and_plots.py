from django.db import migrations

from registry.services.audit.taking_over import take_over

STATED = (
    ("countedplot", ("code", "entry_id", "entry__lot_id", "entry__role", "planted_count"), "planting_id"),
    ("censusround", ("planting_id", "label", "growing_seasons", "opens_on", "closes_on"), ""),
    ("roundlink", ("round_id", "entered_by_id", "token_sha256", "ends_on", "revoked_at"), ""),
)


def take_over_states(apps, schema_editor):
    take_over(apps, app="plantings", stated=STATED)


class Migration(migrations.Migration):
    dependencies = [("plantings", "0025_withdrawn_records"), ("registry", "0029_states_of_links_and_shipments")]
    operations = [migrations.RunPython(take_over_states, migrations.RunPython.noop)]
