"""What stays on file when a load is withdrawn: lots whose ledger has entries, what withdrawn records name, and what those name."""

from django.db.models import Q

from registry.models import LedgerEntry, Load, Lot
from registry.models.append_only import AppendOnly, Withdrawable
from registry.models.audit import stored_name
from registry.selectors.loads.resting import AT_ONCE, stored_by

__all__ = ["staying_records", "withdrawn_load_of"]


def staying_records(load):
    """{record type: keys} of the records of a load that stay when it is withdrawn.

    Ledger entries are reversed and never deleted, so the lots they name stay; so do the lots and trees of tests, ratings and other
    records that are withdrawn, and the taxon, the mother and whatever else of the load such a lot or tree names, since without them it
    would be an orphan.
    """
    made = {model: set(keys) for model, keys in stored_by(load).items() if not issubclass(model, AppendOnly)}
    found, waiting = {}, [(Lot, _in_ledgers(made.get(Lot, ())))]
    waiting += [(model, _in_withdrawn(model, sorted(keys))) for model, keys in made.items()]
    while waiting:
        model, keys = waiting.pop()
        keys = (keys & made.get(model, set())) - found.get(model, set())
        if keys:
            found.setdefault(model, set()).update(keys)
            waiting += _named_by(model, sorted(keys), made)
    return found


def _in_ledgers(lots):
    """The keys of the lots that a ledger entry is about, or names as the other lot."""
    found, lots = set(), sorted(lots)
    for start in range(0, len(lots), AT_ONCE):
        part = lots[start : start + AT_ONCE]
        entries = LedgerEntry.objects.filter(Q(lot__in=part) | Q(counterpart__in=part)).order_by()
        found.update(key for pair in entries.values_list("lot", "counterpart").distinct() for key in pair)
    return found


def _in_withdrawn(model, keys):
    """The keys of the records that one names which is withdrawn with this load or was with another: any other would keep the load."""
    found = set()
    for relation in model._meta.related_objects:
        if issubclass(relation.related_model, Withdrawable):
            name = relation.field.name
            for start in range(0, len(keys), AT_ONCE):
                rows = relation.related_model._base_manager.filter(**{f"{name}__in": keys[start : start + AT_ONCE]})
                found.update(rows.order_by().values_list(name, flat=True))
    return found


def _named_by(model, keys, made):
    """(record type, keys) of what these records name, in each of their columns."""
    for field in (*model._meta.fields, *model._meta.many_to_many):
        if field.related_model in made:
            named = set()
            for start in range(0, len(keys), AT_ONCE):
                named.update(model._base_manager.filter(pk__in=keys[start : start + AT_ONCE]).values_list(field.name, flat=True))
            yield field.related_model, named


def withdrawn_load_of(record):
    """The number of the withdrawn load that had brought a record, None where there is none."""
    name = stored_name(type(record))
    loads = Load.objects.filter(withdrawal__isnull=False, stored__has_key=name).order_by("pk")
    return next(
        (pk for pk, stored in loads.values_list("pk", "stored") if any(first <= record.pk <= last for first, last in stored[name])), None
    )
