import datetime

from django.db import migrations, models
from django.utils import timezone


def take_times(apps, schema_editor):
    """A question settled before this column came has the time of its entry in the audit trail; without one, the end of its day."""
    question_model, entry_model = apps.get_model("registry", "IdentityQuestion"), apps.get_model("registry", "AuditEntry")
    settled = entry_model.objects.filter(record_type="identityquestion", verb="identityquestion.settled").order_by("pk")
    entered = dict(settled.values_list("record_id", "at"))
    for question in question_model.objects.filter(settled_on__isnull=False):
        end = datetime.datetime.combine(question.settled_on, datetime.time.max)
        question.settled_at = entered.get(question.pk) or timezone.make_aware(end)
        question.save(update_fields=["settled_at"])


class Migration(migrations.Migration):
    dependencies = [("registry", "0031_withdrawn_rows")]
    operations = [
        migrations.RemoveConstraint(model_name="identityquestion", name="identityquestion_settled_whole"),
        migrations.AddField(
            model_name="identityquestion",
            name="settled_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.RunPython(take_times, migrations.RunPython.noop),
        migrations.AddConstraint(
            model_name="identityquestion",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("settled_at__isnull", True), ("settled_on__isnull", True), ("settlement", ""), ("settlement_text", "")),
                    models.Q(
                        ("settled_at__isnull", False),
                        ("settled_on__isnull", False),
                        models.Q(("settlement", ""), _negated=True),
                        models.Q(("settlement_text", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="identityquestion_settled_whole",
                violation_error_message="To settle the question, give the date, the outcome and how it was settled.",
            ),
        ),
    ]
