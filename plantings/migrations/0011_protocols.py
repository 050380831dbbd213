import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import F, Q

from registry.models.append_only import protect_again

ENTERED = [
    ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
    ("entered_at", models.DateTimeField()),
]


def entered_by():
    return models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL)


class Migration(migrations.Migration):
    dependencies = [migrations.swappable_dependency(settings.AUTH_USER_MODEL), ("plantings", "0010_reviews")]
    operations = [
        migrations.CreateModel(
            name="OwnMeasurement",
            fields=[
                *ENTERED,
                ("code", models.CharField(max_length=24)),
                ("version", models.PositiveSmallIntegerField()),
                ("name", models.CharField(max_length=40)),
                ("unit", models.CharField(blank=True, max_length=20)),
                ("classes", models.JSONField(blank=True, default=list, verbose_name="classes, from nothing to most")),
                ("low", models.FloatField(blank=True, null=True, verbose_name="lowest value")),
                ("high", models.FloatField(blank=True, null=True, verbose_name="highest value")),
                ("whole", models.BooleanField(default=False, verbose_name="whole numbers only")),
                ("taken", models.CharField(max_length=300, verbose_name="how it is taken")),
                ("from_season", models.PositiveSmallIntegerField(default=0, verbose_name="from which growing season on")),
                ("entered_by", entered_by()),
            ],
            options={"ordering": ["code", "version"]},
        ),
        migrations.AddConstraint("ownmeasurement", models.UniqueConstraint(fields=["code", "version"], name="ownmeasurement_version_once")),
        migrations.AddConstraint(
            "ownmeasurement",
            models.CheckConstraint(
                condition=Q(low__isnull=True, high__isnull=True) | Q(low__isnull=False, high__gt=F("low")),
                name="ownmeasurement_range",
                violation_error_message="Give a lowest and a highest value, the highest above the lowest.",
            ),
        ),
        migrations.CreateModel(
            name="Protocol",
            fields=[
                *ENTERED,
                ("code", models.CharField(max_length=24)),
                ("version", models.PositiveSmallIntegerField()),
                ("asks", models.JSONField(blank=True, default=list, verbose_name="what it asks for")),
                ("about", models.TextField(blank=True, verbose_name="how the round is done")),
                ("entered_by", entered_by()),
            ],
            options={"ordering": ["code", "version"]},
        ),
        migrations.AddConstraint("protocol", models.UniqueConstraint(fields=["code", "version"], name="protocol_version_once")),
        migrations.AddField(
            "censusround", "protocol",
            models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="rounds", to="plantings.protocol"),
        ),
        # empty in every record from before, and an empty value is left out of the hash
        migrations.AddField(
            "observation", "own_values",
            models.JSONField(blank=True, default=dict, verbose_name="values of the programme's own measurements"),
        ),
        migrations.RunPython(*protect_again("plantings_observation", "plantings_ownmeasurement", "plantings_protocol")),
    ]
