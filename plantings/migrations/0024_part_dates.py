from django.db import migrations

import registry.models.shared.part_date_field
from registry.models.append_only import finish_tables, protect_again


class Migration(migrations.Migration):

    dependencies = [
        ('plantings', '0023_words_in_french'),
    ]

    operations = [
        migrations.AlterField(
            model_name='observation',
            name='observed_on',
            field=registry.models.shared.part_date_field.PartDateField(),
        ),
        migrations.AlterField(
            model_name='pagekeying',
            name='observed_on',
            field=registry.models.shared.part_date_field.PartDateField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name='planting',
            name='planted_on',
            field=registry.models.shared.part_date_field.PartDateField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name='plotcount',
            name='observed_on',
            field=registry.models.shared.part_date_field.PartDateField(),
        ),
        migrations.AlterField(
            model_name='secondmeasurement',
            name='observed_on',
            field=registry.models.shared.part_date_field.PartDateField(),
        ),
        migrations.AlterField(
            model_name='selfsown',
            name='observed_on',
            field=registry.models.shared.part_date_field.PartDateField(),
        ),
        migrations.AlterField(
            model_name='tree',
            name='planted_on',
            field=registry.models.shared.part_date_field.PartDateField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name='treetag',
            name='until_on',
            field=registry.models.shared.part_date_field.PartDateField(),
        ),
        migrations.RunPython(finish_tables, migrations.RunPython.noop),
        migrations.RunPython(*protect_again("plantings_observation", "plantings_plotcount", "plantings_secondmeasurement", "plantings_selfsown", "plantings_pagekeying")),
    ]
