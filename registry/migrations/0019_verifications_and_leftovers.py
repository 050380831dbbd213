"""Verifications of a rule in records of their own; leftovers that can be taken back; requests for a new password.

On PostgreSQL no append-only table can be truncated any longer.
"""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q
from django.utils import timezone

from registry.models.append_only import protect_again
from registry.services.audit.taking_over import take_over

VERIFICATION = ("verified_on", "verified_with", "verified_by", "review_by")
APPEND_ONLY = (
    "agreementsignature", "agreementtext", "auditentry", "authorizationdraw", "authorizationstaterecord", "authorizationversion",
    "cautionseen", "cautiontext", "decisionagreement", "determination", "dutydone", "harvest", "identityevidence", "incidentnotice",
    "issuedprint", "ledgerentry", "measuredshare", "paperdocument", "rating", "ruleverification", "seedtest", "seedtestreplicate",
    "selectiondecision", "storagerecord", "storedfile", "treatment", "treestatusrecord",
)  # fmt: skip


def earlier_verifications(apps, schema_editor):
    """What a rule says of its verification, and what it said before: the audit trail has every change of it."""
    rules, entries, verifications = (apps.get_model("registry", name) for name in ("Requirement", "AuditEntry", "RuleVerification"))
    rows = []
    for rule in rules.objects.order_by("pk"):
        said, found = {name: getattr(rule, name) for name in VERIFICATION}, {}
        changes = entries.objects.filter(record_type="requirement", record_id=rule.pk).order_by("-pk")
        for entry in changes.values("changes", "actor", "at"):
            changed = {name: value[0] for name, value in entry["changes"].items() if name in VERIFICATION}
            if changed:
                found.setdefault(str(said["verified_on"]), (said, entry["actor"], entry["at"]))
                said = said | changed
        found.setdefault(str(said["verified_on"]), (said, None, timezone.now()))
        for values, person, at in found.values():
            if values["verified_on"] and values["verified_with"] and values["verified_by"]:
                rows.append(
                    verifications(requirement=rule, entered_by_id=person, entered_at=at, **values | {"review_by": values["review_by"] or None})
                )
    verifications.objects.bulk_create(sorted(rows, key=lambda row: (row.requirement_id, str(row.verified_on))))
    take_over(apps, app="registry", append_only=("ruleverification",))


class Migration(migrations.Migration):
    dependencies = [("registry", "0018_taking_back")]
    operations = [
        migrations.CreateModel(
            name="RuleVerification",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("entered_at", models.DateTimeField()),
                ("verified_on", models.DateField(verbose_name="asked on")),
                ("verified_with", models.CharField(max_length=160, verbose_name="verified with (authority and person)")),
                ("verified_by", models.CharField(max_length=80, verbose_name="asked by")),
                ("review_by", models.DateField(blank=True, null=True, verbose_name="ask again by")),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it is corrected")),
                (
                    "entered_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "requirement",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="verifications", to="registry.requirement"),
                ),
                (
                    "supersedes",
                    models.OneToOneField(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="superseded_by",
                        to="registry.ruleverification",
                    ),
                ),
            ],
            options={"ordering": ["requirement", "verified_on", "id"]},
        ),
        migrations.AddConstraint(
            "ruleverification",
            models.CheckConstraint(
                condition=Q(supersedes__isnull=True) | ~Q(reason=""), name="ruleverification_correction_has_reason"
            ),
        ),
        migrations.CreateModel(
            name="PasswordAsked",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField(db_index=True)),
                ("email", models.CharField(max_length=254)),
                ("address", models.GenericIPAddressField(blank=True, null=True, verbose_name="asked from")),
                ("within_limits", models.BooleanField()),
            ],
            options={
                "verbose_name": "request for a new password",
                "verbose_name_plural": "requests for a new password",
                "ordering": ["-at"],
            },
        ),
        migrations.AddField(
            "leftover",
            "taken_back_by",
            models.ForeignKey(
                blank=True, editable=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField("leftover", "taken_back_at", models.DateTimeField(blank=True, editable=False, null=True)),
        migrations.AddField("leftover", "taken_back_reason", models.CharField(blank=True, editable=False, max_length=200)),
        migrations.RemoveConstraint("leftover", "leftover_once_a_day"),
        migrations.AddConstraint(
            "leftover",
            models.UniqueConstraint(
                fields=["line", "outcome", "on"],
                condition=Q(taken_back_at__isnull=True),
                name="leftover_once_a_day",
                violation_error_message="A leftover of this day with this outcome is already on file. Take it back first if it is wrong.",
            ),
        ),
        migrations.AddConstraint(
            "leftover",
            models.CheckConstraint(
                condition=Q(taken_back_by__isnull=True, taken_back_at__isnull=True, taken_back_reason="")
                | Q(taken_back_by__isnull=False, taken_back_at__isnull=False) & ~Q(taken_back_reason=""),
                name="leftover_taken_back_whole",
            ),
        ),
        migrations.RunPython(*protect_again(*(f"registry_{name}" for name in APPEND_ONLY))),
        migrations.RunPython(earlier_verifications, migrations.RunPython.noop),
    ]  # fmt: skip
