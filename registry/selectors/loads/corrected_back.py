"""Corrections of records of a load that count no more: rejected, or corrected back to what the load had said. They go with the load."""

from collections import defaultdict
from collections.abc import Callable

from registry.calc.sheets.key_ranges import in_ranges
from registry.models import LedgerEntry, Load, SeedTest, SeedTestReplicate
from registry.models.audit import stored_name

__all__ = ["AT_ONCE", "in_effect", "in_effect_by", "with_corrections"]

AT_ONCE = 900
# what a record says of itself, not of the tree or the lot; of a test the seeds used up are compared, whichever entry has them
_OF_ITSELF = {"id", "uuid", "supersedes", "reason", "entered_by", "entered_at", "received_at", "arrived_as", "entry"}
_IN_EFFECT: dict[type, Callable] = {}


def in_effect_by(model, find):
    """Called once by an app whose append-only records can be rejected: `find()` has those of this type that were not. A rejected one rests
    on nothing."""
    _IN_EFFECT[model] = find


def in_effect(model):
    """The records of a type that were not rejected; None where they never are."""
    return _IN_EFFECT[model]() if model in _IN_EFFECT else None


def with_corrections(load, made, going):
    """{record type: keys} of what a load made, with the corrections of it that were taken back, of the types that are.

    A record of the load that somebody corrected hinders nothing where the last correction says the same again, or was rejected. Where
    another load that is still in effect stored one of the corrections, all of them stay: that load goes first.
    """
    found = {model: set(keys) for model, keys in made.items()}
    for model, keys in made.items():
        if model in going and any(field.name == "supersedes" for field in model._meta.fields):
            for other, more in _taken_back(load, model, keys).items():
                found.setdefault(other, set()).update(more)
    return found


def _taken_back(load, model, keys):
    found, chains = defaultdict(set), _corrections(model, keys)
    if not chains:
        return found
    others = _stored_by_others(load, model)
    ends = {first: later[-1] for first, later in chains.items() if not any(in_ranges(others, pk) for pk in later)}
    rows = in_effect(model)
    standing = set(ends.values()) if rows is None else _of(rows, ends.values())
    said = _what_they_say(model, {pk for pair in ends.items() if pair[1] in standing for pk in pair})
    own = set(keys)
    for first, last in ends.items():
        if last not in standing or said[first] == said[last]:
            found[model].update(chains[first])
            if model is SeedTest:
                _ledger_of_tests(found, first, chains[first], own)
    return found


def _corrections(model, keys):
    """{record of the load: the records outside it that correct it, one after the other}."""
    own, chains, first_of = set(keys), {}, {}
    rows = model._base_manager.filter(supersedes__gte=min(own), supersedes__lte=max(own)).order_by("pk")
    while step := [(pk, before) for pk, before in rows.values_list("pk", "supersedes") if pk not in own]:
        for pk, before in step:
            if before in own or before in first_of:
                first_of[pk] = first_of.get(before, before)
                chains.setdefault(first_of[pk], []).append(pk)
        ends = [pk for pk, _before in step if pk in first_of]
        rows = model._base_manager.filter(supersedes__in=ends).order_by("pk")
    return chains


def _stored_by_others(load, model):
    """[[first key, last key]] of the records of a type that other loads stored which were not withdrawn, in order."""
    name = stored_name(model)
    loads = Load.objects.filter(withdrawal__isnull=True, stored__has_key=name).exclude(pk=load.pk).values_list("stored", flat=True)
    return sorted(pair for stored in loads for pair in stored[name])


def _of(rows, keys):
    keys, found = sorted(keys), set()
    for start in range(0, len(keys), AT_ONCE):
        found.update(rows.filter(pk__in=keys[start : start + AT_ONCE]).values_list("pk", flat=True))
    return found


def _what_they_say(model, keys):
    """{key: what a record says of its tree or lot}."""
    names = [field.attname for field in model._meta.fields if field.name not in _OF_ITSELF]
    keys, said = sorted(keys), {}
    for start in range(0, len(keys), AT_ONCE):
        for record in model._base_manager.filter(pk__in=keys[start : start + AT_ONCE]):
            said[record.pk] = [getattr(record, name) for name in names]
            if model is SeedTest:
                parts = record.replicates.order_by("number").values_list("seeds", "germinated", "mass_g")
                said[record.pk] += [_used_up(record), list(parts)]
    return said


def _drawing(test):
    """The test of a chain of corrections whose entry has the seeds that this one used up, None where none has."""
    while test and not test.entry_id:
        test = test.supersedes
    return test


def _used_up(test):
    drawing = _drawing(test)
    if drawing is None:
        return 0
    reversed_before = LedgerEntry.objects.filter(reverses=drawing.entry, entered_at__lte=test.entered_at).exists()
    return 0 if reversed_before else drawing.entry.quantity


def _ledger_of_tests(found, first, later, own):
    """Replicates go with their tests, and so does what a test used up; where the load had corrected an earlier test, what that one had
    used up is drawn again, so only the entry that gave it back belongs to the corrections."""
    found[SeedTestReplicate].update(SeedTestReplicate.objects.filter(test__in=later).values_list("pk", flat=True))
    test = SeedTest._base_manager.get(pk=first)
    while test and test.pk in own:
        test = test.supersedes
    if test is None:
        found[LedgerEntry].update(SeedTest._base_manager.filter(pk__in=later, entry__isnull=False).values_list("entry", flat=True))
    elif drawing := _drawing(test):
        found[LedgerEntry].update(LedgerEntry.objects.filter(reverses=drawing.entry).values_list("pk", flat=True))
