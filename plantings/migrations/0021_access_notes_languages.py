from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('plantings', '0018_issued_reports'),
    ]

    operations = [
        migrations.AddField(
            model_name='site',
            name='access_notes_fr',
            field=models.TextField(blank=True, verbose_name='access in French'),
        ),
    ]
