"""Records of lots and orchard trees that a load brought in, taken back when it is withdrawn.

A record that corrected one from before the load gets its earlier values again, by a correction; any other is withdrawn by a `WithdrawnRow`.
What followed from such records, a status or a place in store, is what it was.
"""

from functools import partial

from django.db.models import Min
from django.utils import timezone

from registry.models import (
    AuditEntry,
    Harvest,
    IdentityEvidence,
    LedgerEntry,
    Lot,
    MeasuredShare,
    PedigreeTree,
    Rating,
    SeedTest,
    SelectionDecision,
    StorageRecord,
    Treatment,
    TreeStatusRecord,
    WithdrawnRow,
)
from registry.models.audit import stored_name
from registry.selectors.loads.resting import AT_ONCE
from registry.services.audit.changes import field_values
from registry.services.audit.trail import append_rows
from registry.services.lots.seed_tests import seed_test_correct
from registry.services.orchard.ratings import RatingDay, Reading, rating_correct
from registry.services.orchard.tree_status import tree_status_repeat
from registry.services.shared.records import record_save

__all__ = ["WAYS", "lots_follow", "trees_leave_orchard"]

_TEST_FIELDS = (
    "tested_on", "tested_by", "seeds", "sound", "infested", "mouldy", "empty", "container_g", "wet_g", "dry_g", "pure_g", "sample_g",
    "regime", "note",
)  # fmt: skip
_FOLLOWS = {"storage_place", "use_by"}
_PLACE = ("orchard", "block", "plot", "row", "position")


def _withdraw(model, actor, load, made, reason):
    """Withdraw the records of a type that correct none from before the load. Returns (last record of the load, the one from before it) for
    each that does."""
    own, corrected, column = set(made[model]), [], WithdrawnRow.column_of(model)
    corrects = any(field.name == "supersedes" for field in model._meta.fields)
    for keys in _at_once(made[model]):
        alone = []
        for record in model._base_manager.filter(pk__in=keys).order_by("pk"):
            earlier = _of_before(record, own) if corrects else None
            if earlier is None:
                alone.append(record)
            elif not hasattr(record, "superseded_by"):
                corrected.append((record, earlier))
        stamp = timezone.now()
        append_rows(
            [WithdrawnRow(load=load, reason=reason, entered_by=actor, entered_at=stamp, **{column: record}) for record in alone]
        )  # fmt: skip
    return corrected


def _at_once(keys):
    return [keys[start : start + AT_ONCE] for start in range(0, len(keys), AT_ONCE)]


def _of_before(record, own):
    """The record from before the load that this one corrects, also by others of the load; None where there is none."""
    while record.supersedes_id in own:
        record = record.supersedes
    return record.supersedes


def _ratings(actor, load, made, reason):
    for record, earlier in _withdraw(Rating, actor, load, made, reason):
        day = RatingDay(earlier.scale, earlier.rated_on, earlier.method, earlier.rater, earlier.strain, earlier.inoculated_on)
        reading = Reading(earlier.tree, earlier.score, earlier.canker_length_mm, earlier.canker_width_mm, earlier.note)
        rating_correct(actor=actor, rating=record, day=day, reading=reading, reason=reason)


def _seed_tests(actor, load, made, reason):
    for record, earlier in _withdraw(SeedTest, actor, load, made, reason):
        replicates = [(part.seeds, part.germinated, part.mass_g) for part in earlier.replicates.order_by("number")]
        said = {name: getattr(earlier, name) for name in _TEST_FIELDS}
        drawn = _drawn_before(earlier, made)
        seed_test_correct(actor=actor, test=record, reason=reason, drawn=drawn, replicates=replicates, **said)


def _drawn_before(test, made):
    """How many seeds of the ledger a test had used up when the load came."""
    while test and not test.entry_id:
        test = test.supersedes
    if test is None:
        return 0
    reversal = LedgerEntry.objects.filter(reverses=test.entry).values_list("pk", flat=True).first()
    return -test.entry.quantity if reversal is None or reversal in made.get(LedgerEntry, ()) else 0


def _status_steps(actor, load, made, reason):
    _withdraw(TreeStatusRecord, actor, load, made, reason)
    for keys in _at_once(made[TreeStatusRecord]):
        trees = TreeStatusRecord._base_manager.filter(pk__in=keys).order_by().values_list("tree", flat=True)
        for tree in PedigreeTree.objects.select_for_update().filter(pk__in=sorted(set(trees))).order_by("pk"):
            tree_status_repeat(actor=actor, tree=tree, reason=reason)


def lots_follow(actor, load, made, reason):
    """Lots whose place in store or use-by day followed from a storage check or a mixing of the load have the one of before; a later
    change stays."""
    lots, began = set(), []
    for model in (StorageRecord, LedgerEntry):
        for part in _at_once(made.get(model, [])):
            rows = model._base_manager.filter(pk__in=part).order_by()
            lots.update(rows.values_list("lot", flat=True))
            began.append(rows.aggregate(Min("entered_at"))["entered_at__min"])
    if not lots:
        return
    end = AuditEntry.objects.filter(record_type=stored_name(type(load)), record_id=load.pk).order_by("pk").values_list("pk", flat=True)
    moves = AuditEntry.objects.filter(record_type=stored_name(Lot), verb="lot.changed", at__gte=min(began), pk__lt=end[0]).order_by("pk")
    was = {}
    for part in _at_once(sorted(lots - set(made.get(Lot, ())))):
        for key, changes in moves.filter(record_id__in=part).values_list("record_id", "changes"):
            for name in _FOLLOWS & changes.keys():
                before, after = changes[name]
                was.setdefault(key, {})[name] = (was.get(key, {}).get(name, (before,))[0], after)
    for lot in Lot.objects.select_for_update().filter(pk__in=sorted(was)).order_by("pk"):
        now = field_values(lot)
        for name, (before, after) in was[lot.pk].items():
            if now[name] == after:
                setattr(lot, name, lot._meta.get_field(name).to_python(before))
        record_save(actor=actor, obj=lot, reason=reason)


# how the append-only records of each type are taken back; of a decision, a share, evidence, a treatment or a picking nothing follows
WAYS = {
    Rating: _ratings,
    SeedTest: _seed_tests,
    TreeStatusRecord: _status_steps,
    **{
        model: partial(_withdraw, model)
        for model in (SelectionDecision, MeasuredShare, IdentityEvidence, Treatment, StorageRecord, Harvest)
    },
}


def trees_leave_orchard(actor, keys, reason):
    """Trees that stay because withdrawn records name them leave their place in the orchard: no plan, pool or count has them."""
    for part in _at_once(keys):
        for tree in PedigreeTree.objects.select_for_update().filter(pk__in=part).order_by("pk"):
            for name in _PLACE:
                setattr(tree, name, None if tree._meta.get_field(name).null else "")
            record_save(actor=actor, obj=tree, reason=reason)
