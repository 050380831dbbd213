import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from registry.models.append_only import protect_again


class Migration(migrations.Migration):

    dependencies = [
        ('plantings', '0022_unknown_number_sown'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='planting',
            name='start_corner_fr',
            field=models.CharField(blank=True, max_length=100, verbose_name='start corner in French'),
        ),
        migrations.CreateModel(
            name='MeasurementWords',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('entered_at', models.DateTimeField()),
                ('language', models.CharField(max_length=7)),
                ('name', models.CharField(max_length=60)),
                ('unit', models.CharField(blank=True, max_length=20, verbose_name='unit, where it is written otherwise')),
                ('classes', models.JSONField(blank=True, default=list, verbose_name='words of the classes, in their order')),
                ('taken', models.CharField(max_length=400, verbose_name='how it is taken')),
                ('entered_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('measurement', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='in_languages', to='plantings.ownmeasurement')),
            ],
            options={
                'verbose_name_plural': 'words of measurements',
                'ordering': ['measurement', 'language', 'id'],
            },
        ),
        migrations.RunPython(*protect_again("plantings_measurementwords")),
    ]
