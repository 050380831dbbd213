from django.db import migrations

import registry.models.shared.part_date_field
from registry.models.append_only import finish_tables, protect_again


class Migration(migrations.Migration):

    dependencies = [
        ('registry', '0026_access_tokens'),
    ]

    operations = [
        migrations.AlterField(
            model_name='seedtest',
            name='tested_on',
            field=registry.models.shared.part_date_field.PartDateField(),
        ),
        migrations.RunPython(finish_tables, migrations.RunPython.noop),
        migrations.RunPython(*protect_again("registry_seedtest")),
    ]
