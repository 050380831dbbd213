
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('registry', '0029_states_of_links_and_shipments'),
    ]

    operations = [
        migrations.CreateModel(
            name='StoredAnswer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('question', models.CharField(max_length=64, unique=True)),
                ('rests_sha256', models.CharField(max_length=64)),
                ('values', models.JSONField(blank=True, null=True)),
                ('about', models.JSONField(blank=True, default=dict)),
                ('made_at', models.DateTimeField()),
            ],
            options={
                'ordering': ['-made_at', '-id'],
            },
        ),
    ]
