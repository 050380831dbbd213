import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [("registry", "0014_gate_decides")]
    operations = [
        migrations.AddField(
            "receipt",
            "taken_back_by",
            models.ForeignKey(
                blank=True, editable=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField("receipt", "taken_back_at", models.DateTimeField(blank=True, editable=False, null=True)),
        migrations.AddField("receipt", "taken_back_reason", models.CharField(blank=True, editable=False, max_length=200)),
        migrations.RemoveConstraint("receipt", "receipt_once_a_day"),
        migrations.AddConstraint(
            "receipt",
            models.UniqueConstraint(
                fields=["shipment", "received_on"],
                condition=Q(taken_back_at__isnull=True),
                name="receipt_once_a_day",
                violation_error_message="A receipt of this day is already on file for this shipment. Take it back first if it is wrong.",
            ),
        ),
        migrations.AddConstraint(
            "receipt",
            models.CheckConstraint(
                condition=Q(taken_back_by__isnull=True, taken_back_at__isnull=True, taken_back_reason="")
                | Q(taken_back_by__isnull=False, taken_back_at__isnull=False) & ~Q(taken_back_reason=""),
                name="receipt_taken_back_whole",
            ),
        ),
    ]  # fmt: skip
