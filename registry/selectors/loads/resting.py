"""What a load stored, and what later rests on it: while anything does, the load cannot be withdrawn."""

from collections.abc import Callable
from typing import NamedTuple

from registry.calc.shared.screen import amount_words
from registry.calc.sheets.key_ranges import keys_in
from registry.choices import LedgerKind
from registry.models import AuditEntry, Determination, LedgerEntry, Leftover, Lot, Person, Receipt, ReceiptLine, Shipment, ShipmentLine
from registry.models.append_only import AppendOnly
from registry.models.audit import stored_name
from registry.selectors.audit.book_tables import book_tables

__all__ = [
    "Hindrance",
    "counted_from",
    "counted_models",
    "hindered_by",
    "hindrances",
    "made_models",
    "marked_where_named_by",
    "stored_by",
]

AT_ONCE = 900
_STAYS = {Determination}  # an answer of the gate stays on file as it was given
_ON_THEIR_PAGES = {Leftover, Person, Receipt, ReceiptLine, Shipment, ShipmentLine}  # each has a way of its own to be taken back or closed
_COUNTED = set()
# a lot stays, closed, with the entries of the load and the opposite of each (`staying.py`)
_MARKED: dict[type, tuple[type, ...]] = {Lot: (LedgerEntry,)}
# ledger entries that another step made go back with that step
_REVERSED = set(LedgerKind.values) - {
    LedgerKind.BULKED_IN, LedgerKind.BULKED_OUT, LedgerKind.SPLIT_IN, LedgerKind.SPLIT_OUT, LedgerKind.SHIPPED, LedgerKind.RECEIVED_BACK,
}  # fmt: skip


class Hindrance(NamedTuple):
    """What rests on records of a load, in words; `record` is one of those that rest on it, or the one it is about."""

    words: str
    record: object = None


def made_models():
    """The record types that a load can name, those that point to others last."""
    return [table.model for table in book_tables()]


def stored_by(load):
    """{model: keys of the records that a load made}, those that point to others last."""
    models = {stored_name(model): model for model in made_models()}
    order = {name: place for place, name in enumerate(models)}
    named = sorted(load.stored.items(), key=lambda pair: order[pair[0]])
    return {models[name]: list(keys_in(ranges)) for name, ranges in named}


def counted_from(*models):
    """Called once by an app whose tables of counts follow from the records: rows of these rest on nothing."""
    _COUNTED.update(models)


def counted_models():
    """The tables of counts that apps have named."""
    return frozenset(_COUNTED)


def _ledger_hindrances(keys):
    entries = LedgerEntry.objects.in_effect().filter(pk__in=keys).exclude(kind__in=_REVERSED).select_related("lot")
    for entry in entries[:1]:
        yield Hindrance(f"Lot {entry.lot}: “{entry.get_kind_display()}” was written by another step. Take that step back first.", entry.lot)


_WAYS: dict[type, Callable] = {LedgerEntry: _ledger_hindrances}


def hindered_by(model, find):
    """Called once by an app whose append-only records can be taken back: `find(keys)` yields a Hindrance for each reason why not."""
    _WAYS[model] = find


def marked_where_named_by(model, *others):
    """Called once by an app: plain records of a load stay, marked as withdrawn, where its append-only records of these types name them."""
    _MARKED[model] = others


def hindrances(load, changed):
    """Why a load cannot be withdrawn: a Hindrance each, none where it can.

    Parameters
    ----------
    changed : list of (model, {key: names of the columns}) of the records that it changed, which get their earlier cells again
    """
    restored = {}
    for model, columns in changed:
        for key, names in columns.items():
            restored.setdefault(model, {}).setdefault(key, set()).update(names)
    found, made = [], stored_by(load)
    sets = {model: set(keys) for model, keys in made.items()}
    removed = {model: keys for model, keys in sets.items() if not issubclass(model, AppendOnly)}
    for model, keys in made.items():
        if model in _WAYS:
            for start in range(0, len(keys), AT_ONCE):
                found += _WAYS[model](keys[start : start + AT_ONCE])
        elif issubclass(model, AppendOnly) or model in _ON_THEIR_PAGES:
            if model not in _STAYS:
                found.append(_never_goes(model, keys))
        else:
            leave = removed | {other: sets[other] for other in _MARKED.get(model, ()) if other in sets}
            found += _references(model, keys, leave, restored, made)
    about = AuditEntry.objects.filter(record_type="load", record_id=load.pk).order_by("pk")
    last = about.values_list("pk", flat=True).first() or 0  # its first entry is the last of the write that loaded it
    for model, keys in (*removed.items(), *restored.items()):
        found += _changed_since(model, sorted(keys), last)
    return found


def _never_goes(model, keys):
    record = model._base_manager.filter(pk=keys[0]).first()
    words = amount_words(len(keys), "records")
    return Hindrance(f"{words} of the kind “{model._meta.verbose_name}” cannot be taken back together. Correct each on its page.", record)


def _references(model, keys, leave, restored, made):
    """Records outside the load, or that never go, which point to records of it, and will still do so when it is withdrawn.

    `leave` has the keys of those that do not hinder: they go too, or a mark on what they name goes with them.
    """
    for relation in model._meta.get_fields(include_hidden=True):
        if not relation.auto_created or relation.concrete or relation.many_to_many:
            continue
        other, name = relation.related_model, relation.field.name
        if other in _COUNTED or other._meta.auto_created is model:
            continue
        for start in range(0, len(keys), AT_ONCE):
            counting = other.objects.in_effect() if other is LedgerEntry else other._base_manager  # nothing rests on a reversed entry
            rows = counting.filter(**{f"{name}__in": keys[start : start + AT_ONCE]})
            gone, back = leave.get(other, ()), restored.get(other, {})
            outside = [pk for pk in rows.values_list("pk", flat=True) if pk not in gone and name not in back.get(pk, ())]
            if outside:
                is_own = issubclass(other, AppendOnly) and set(outside) <= set(made.get(other, ()))
                yield _stays_with(model, other, name, outside) if is_own else _reference(model, other, name, outside)
                break


def _stays_with(model, other, name, outside):
    """The load stored both, and one of them never goes."""
    row = other._base_manager.get(pk=outside[0])
    kinds = other._meta.verbose_name_plural
    words = f"{model._meta.verbose_name.capitalize()} {getattr(row, name)} stays, since {kinds} that this load stored are about it"
    return Hindrance(f"{words}, and those are never deleted. Correct or reject them instead.", row)


def _reference(model, other, name, outside):
    row = other._base_manager.get(pk=outside[0])
    target, record = getattr(row, name), row
    if holder := other._meta.auto_created:  # a link of a column that names several records: shown is the record that has the column
        record = next(getattr(row, field.name) for field in other._meta.fields if field.related_model is holder)
    kind = record._meta.verbose_name
    return Hindrance(f"{model._meta.verbose_name.capitalize()} {target}: a record of the kind “{kind}” rests on it ({record}).", record)


def _changed_since(model, keys, last):
    """Records that read otherwise in one of their own columns than when the load ended: what was changed and changed back does not count.

    An entry about what belongs to a record, such as trees of a planting, says nothing here: those are found by their references.
    """
    columns = {field.name for field in model._meta.get_fields() if field.concrete}
    for start in range(0, len(keys), AT_ONCE):
        later = AuditEntry.objects.filter(record_type=stored_name(model), record_id__in=keys[start : start + AT_ONCE], pk__gt=last)
        labels, net = {}, {}
        for record_id, label, changes in later.order_by("pk").values_list("record_id", "record_label", "changes"):
            labels[record_id] = label
            for name in columns & changes.keys():
                net.setdefault(record_id, {}).setdefault(name, [changes[name][0], None])[1] = changes[name][1]
        changed = {pk: labels[pk] for pk, found in net.items() if any(before != after for before, after in found.values())}
        for record_id, label in list(changed.items())[:1]:
            more = f" ({amount_words(len(changed), 'records')} in all)" if len(changed) > 1 else ""
            yield Hindrance(f"{label} was changed after the load{more}.", model._base_manager.filter(pk=record_id).first())
