import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q

from plantings import choices
from registry.models.append_only import protect_again


class Migration(migrations.Migration):
    dependencies = [migrations.swappable_dependency(settings.AUTH_USER_MODEL), ("plantings", "0009_round_links")]
    operations = [
        # blank in every record from before: those count as accepted, and their hashes stay valid
        migrations.AddField("observation", "arrived_as", models.CharField(blank=True, choices=choices.arrivals, default="", max_length=8), preserve_default=False),
        migrations.CreateModel(
            name="Review",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("entered_at", models.DateTimeField()),
                ("number", models.PositiveSmallIntegerField(verbose_name="1 for its first review, 2 for the next …")),
                ("state", models.CharField(choices=choices.review_states, max_length=10)),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it was asked back or rejected")),
                ("entered_by", models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL)),
                ("observation", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="reviews", to="plantings.observation")),
                ("supersedes", models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="superseded_by", to="plantings.review")),
            ],
            options={"ordering": ["observation", "id"]},
        ),
        migrations.AddConstraint("review", models.UniqueConstraint(fields=["observation", "number"], name="review_number_once")),
        migrations.AddConstraint("review", models.CheckConstraint(condition=Q(number=1, supersedes__isnull=True) | Q(number__gt=1, supersedes__isnull=False), name="review_follows_the_last")),
        migrations.AddConstraint("review", models.CheckConstraint(condition=Q(state="accepted") | ~Q(reason=""), name="review_has_reason")),
        migrations.CreateModel(
            name="ReviewTally",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("unread", models.PositiveIntegerField()),
                ("asked_back", models.PositiveIntegerField()),
                ("round", models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name="review_tally", to="plantings.censusround")),
            ],
            options={"verbose_name_plural": "tallies of reviews"},
        ),
        migrations.RunPython(*protect_again("plantings_observation", "plantings_plotcount", "plantings_review")),
    ]
