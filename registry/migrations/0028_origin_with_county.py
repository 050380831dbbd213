from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('registry', '0027_part_dates'),
    ]

    operations = [
        migrations.AlterField(
            model_name='shipment',
            name='origin_region',
            field=models.CharField(blank=True, help_text='Such as US-VT, or US-VT/Chittenden with its county.', max_length=80, verbose_name='leaves from (ISO 3166)'),
        ),
    ]
