from django.db import migrations
from django.utils import timezone

from registry.models.append_only import protect_again

TABLES = (
    "registry_ledgerentry",  # 0003 rebuilt it on SQLite, which drops the triggers of a table
    "registry_harvest",
    "registry_identityevidence",
    "registry_issuedpaper",
    "registry_measuredshare",
    "registry_rating",
    "registry_seedtest",
    "registry_seedtestreplicate",
    "registry_selectiondecision",
    "registry_storagerecord",
    "registry_treatment",
    "registry_treestatusrecord",
)


def take_over_statuses(apps, schema_editor):
    """The status a tree had before there was a history becomes its first step, without an author."""
    tree, record = apps.get_model("registry", "PedigreeTree"), apps.get_model("registry", "TreeStatusRecord")
    gone = tree.objects.exclude(status="standing").values_list("pk", "status", "status_on", "status_reason")
    now = timezone.now()
    record.objects.bulk_create(
        [record(tree_id=pk, status=status, on=on, reason=reason, entered_at=now) for pk, status, on, reason in gone], batch_size=500
    )


class Migration(migrations.Migration):
    dependencies = [("registry", "0003_material")]
    operations = [
        migrations.RunPython(take_over_statuses, migrations.RunPython.noop),
        migrations.RunPython(*protect_again(*TABLES)),
    ]
