from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('registry', '0007_gate'),
    ]

    operations = [
        migrations.AlterField(
            model_name='programmesetting',
            name='value',
            field=models.CharField(max_length=200),
        ),
    ]
