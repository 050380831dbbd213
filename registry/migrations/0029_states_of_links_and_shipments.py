from django.db import migrations

from registry.services.audit.taking_over import take_over

STATED = (
    ("privatelink", ("person_id", "token_sha256", "ends_on", "revoked_at"), ""),
    ("pollenpoolmember", ("tree_id", "weight"), "pool_id"),
    ("lotcomponent", ("component_id", "count", "bulked_on"), "bulk_id"),
    ("shipment", ("code", "receiver_id", "state", "dispatched_on", "site_code"), ""),
    ("shipmentline", ("lot_id", "form", "quantity"), "shipment_id"),
    ("receiptline", ("line_id", "sound", "sprouted", "spoiled"), "receipt_id"),
)


def take_over_states(apps, schema_editor):
    take_over(apps, app="registry", stated=STATED)


class Migration(migrations.Migration):
    dependencies = [("registry", "0028_origin_with_county")]
    operations = [migrations.RunPython(take_over_states, migrations.RunPython.noop)]
