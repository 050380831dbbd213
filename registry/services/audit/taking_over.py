"""For migrations: records that older versions of the program stored, taken into the audit trail as they are.

From here on a change of them shows; what happened before, nobody can tell.
"""

from datetime import UTC

from django.db.models import QuerySet
from django.utils import timezone

from registry.calc.audit.chain import chain_sha256
from registry.models.audit import stored_name
from registry.selectors.audit.record_hashes import HASHES, OLDER, record_hashes, row_name, sum_words
from registry.selectors.audit.record_states import Stated, state_of_rows

__all__ = ["take_over"]

_VERB = "audithead.taken_over"


def take_over(apps, *, app, append_only=(), stated=()):
    """Add one entry with the state of each record of `stated`, {model: Stated}, and the sum of rows that have no hash, by type.

    Models are those of the migration. Nothing is added where there are no accounts.
    """
    entry_model, head_model, person = (apps.get_model("registry", name) for name in ("AuditEntry", "AuditHead", "Person"))
    actor = person.objects.order_by("-is_active", "pk").filter(role="lead").first() or person.objects.order_by("pk").first()
    if actor is None:
        return
    hashed = set()
    for (changes,) in entry_model.objects.filter(changes__has_key=HASHES).values_list("changes").iterator(chunk_size=500):
        hashed |= {name for name, value in changes[HASHES][1].items() if isinstance(value, str)}
    held = {}
    for name in append_only:
        model = apps.get_model(app, name)
        hashes = [sha256 for pk, sha256 in record_hashes(model.objects.all()) if row_name(model, pk) not in hashed]
        if hashes:
            held[f"{OLDER} {stored_name(model)}"] = {"rows": len(hashes), "sum": sum_words(hashes)}
    for name, names, group in stated:
        held |= state_of_rows(apps.get_model(app, name).objects.all(), Stated(names, group), name)
    if held:
        _append(entry_model, head_model, actor, {HASHES: [None, held]})


def _append(entry_model, head_model, actor, changes):
    head, _made = head_model.objects.get_or_create(pk=1)
    entry = entry_model(
        actor_id=actor.pk, at=timezone.now(), verb=_VERB, record_type="audithead", record_id=head.pk,
        record_label="records of older versions", changes=changes, reason="the program was upgraded", previous_sha256=head.sha256,
    )  # fmt: skip
    content = {
        "actor": entry.actor_id, "at": entry.at.astimezone(UTC).isoformat(timespec="microseconds"),
        **{name: getattr(entry, name) for name in ("verb", "record_type", "record_id", "record_label", "changes", "reason")},
    }  # fmt: skip
    entry.sha256 = head.sha256 = chain_sha256(head.sha256, content)
    QuerySet(entry_model).bulk_create([entry])
    head.entries += 1
    head.save()
