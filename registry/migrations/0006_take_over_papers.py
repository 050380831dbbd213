from datetime import UTC

from django.db import migrations
from django.utils import timezone

from registry.models.append_only import protect_again, unprotect_statements
from registry.calc.audit.chain import chain_sha256

TABLES = (
    "registry_agreementsignature",
    "registry_agreementtext",
    "registry_auditentry",  # 0005 rebuilt it on SQLite, which drops the triggers of a table
    "registry_authorizationdraw",
    "registry_authorizationstaterecord",
    "registry_authorizationversion",
    "registry_cautionseen",
    "registry_cautiontext",
    "registry_determination",
    "registry_dutydone",
    "registry_incidentnotice",
    "registry_paperdocument",
    "registry_storedfile",
)


def bind_audit(apps, schema_editor):
    """Bind the entries written before there was a chain. From here on a change shows; before, nobody can tell."""
    for statement in unprotect_statements("registry_auditentry", schema_editor.connection.vendor):
        schema_editor.execute(statement, params=None)
    entry_model, head_model = apps.get_model("registry", "AuditEntry"), apps.get_model("registry", "AuditHead")
    before, count = "", 0
    for entry in entry_model.objects.order_by("pk").iterator(chunk_size=2000):
        content = {
            "actor": entry.actor_id,
            "at": entry.at.astimezone(UTC).isoformat(timespec="microseconds"),
            **{name: getattr(entry, name) for name in ("verb", "record_type", "record_id", "record_label", "changes", "reason")},
        }
        own = chain_sha256(before, content)
        entry_model.objects.filter(pk=entry.pk).update(previous_sha256=before, sha256=own)
        before, count = own, count + 1
    head_model.objects.create(pk=1, entries=count, sha256=before)


def take_over_papers(apps, schema_editor):
    """What a paper said and the state it was in become its version 0 and its first state, without an author."""
    paper_model = apps.get_model("registry", "Authorization")
    version_model, state_model = (apps.get_model("registry", f"Authorization{name}") for name in ("Version", "StateRecord"))
    now, today = timezone.now(), timezone.localdate()
    same = ("starts_on", "ends_on", "covers", "conditions", "cap_quantity", "cap_unit")
    for paper in paper_model.objects.all():
        said = {name: getattr(paper, name) for name in same}
        version_model.objects.create(authorization=paper, number=0, entered_at=now, **said)
        state_model.objects.create(authorization=paper, state=paper.state, on=paper.starts_on or today, entered_at=now)


class Migration(migrations.Migration):
    dependencies = [("registry", "0005_papers")]
    operations = [
        migrations.RunPython(bind_audit, migrations.RunPython.noop),
        migrations.RunPython(take_over_papers, migrations.RunPython.noop),
        migrations.RunPython(*protect_again(*TABLES)),
    ]
