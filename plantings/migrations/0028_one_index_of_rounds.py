"""The index of the round alone goes: that of round and tree begins with it. The table is not made again for it: on SQLite that would
take minutes with millions of records, and its guards with it."""

import django.db.models.deletion
from django.db import migrations, models


def _index_names(apps, schema_editor):
    model = apps.get_model("plantings", "Observation")
    with schema_editor.connection.cursor() as cursor:
        found = schema_editor.connection.introspection.get_constraints(cursor, model._meta.db_table)
    return [
        name
        for name, one in found.items()
        if one["index"] and one["columns"] == ["round_id"] and not (one["unique"] or one["primary_key"])
    ]


def drop_index(apps, schema_editor):
    for name in _index_names(apps, schema_editor):
        schema_editor.execute(f"DROP INDEX {schema_editor.quote_name(name)}")


def add_index(apps, schema_editor):
    model = apps.get_model("plantings", "Observation")
    if not _index_names(apps, schema_editor):
        name = schema_editor._create_index_name(model._meta.db_table, ["round_id"])
        table = schema_editor.quote_name(model._meta.db_table)
        schema_editor.execute(f"CREATE INDEX {schema_editor.quote_name(name)} ON {table} (round_id)")


class Migration(migrations.Migration):
    dependencies = [("plantings", "0027_tree_points")]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.AlterField(
                    model_name="observation",
                    name="round",
                    field=models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="observations",
                        to="plantings.censusround",
                    ),
                ),
            ],
            database_operations=[migrations.RunPython(drop_index, add_index)],
        ),
    ]
