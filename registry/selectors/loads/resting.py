"""What a load stored, and what later rests on it: while anything does, the load cannot be withdrawn."""

from collections.abc import Callable
from typing import NamedTuple

from registry.calc.shared.screen import amount_words
from registry.calc.sheets.key_ranges import keys_in
from registry.choices import LEDGER_LOSSES, LedgerKind
from registry.models import (
    AgreementSignature,
    AgreementText,
    AuditEntry,
    AuthorizationStateRecord,
    AuthorizationVersion,
    CautionText,
    Determination,
    DutyDone,
    LedgerEntry,
    Leftover,
    Lot,
    LotComponent,
    Person,
    Receipt,
    ReceiptLine,
    RuleVerification,
    SeedTestReplicate,
    Shipment,
    ShipmentLine,
)
from registry.models.append_only import AppendOnly, Withdrawable
from registry.models.audit import stored_name
from registry.selectors.audit.book_tables import book_tables
from registry.selectors.loads.corrected_back import AT_ONCE, in_effect, with_corrections

__all__ = [
    "Hindrance",
    "counted_from",
    "counted_models",
    "goes_with",
    "hindered_by",
    "hindrances",
    "made_models",
    "marked_where_named_by",
    "stays_on_file",
    "stored_by",
    "way_back",
]

# an answer of the gate stays on file as it was given, a replicate with its test
_STAYS = {Determination, SeedTestReplicate}
# what is not taken back with a load, and what to do instead
_READ = "Somebody may have read or signed the wording. Enter the next one, which then counts."
_PAPER = "The gate has answered by what a paper said. Enter what is right on the page of the paper."
_SENT = "Take it back on the page of its shipment."
_STAY_ON_FILE: dict[type, str] = {
    AgreementSignature: _READ,
    AgreementText: _READ,
    AuthorizationStateRecord: _PAPER,
    AuthorizationVersion: _PAPER,
    CautionText: _READ,
    DutyDone: "The authority may have been told. Correct it on the page of the duty.",
    Leftover: _SENT,
    Person: "An account stays with what was done from it. End it on its page.",
    Receipt: _SENT,
    ReceiptLine: _SENT,
    RuleVerification: "The gate has answered by it. Enter the right verification on the page of the rule.",
    Shipment: "A draft is given up, and a dispatch taken back, on the page of the shipment.",
    ShipmentLine: "A draft is given up, and a dispatch taken back, on the page of the shipment.",
}
_COUNTED = set()
# a lot stays, closed, with the entries of the load and the opposite of each (`staying.py`)
_MARKED: dict[type, tuple[type, ...]] = {Lot: (LedgerEntry,)}
# ledger entries that a step of a shipment made go back with that step; a split and a mixing have an entry in each of two lots
_STEPS = {LedgerKind.SHIPPED, LedgerKind.RECEIVED_BACK}
_MIXED = {LedgerKind.BULKED_IN, LedgerKind.BULKED_OUT}


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


def goes_with(load):
    """As `stored_by`, with the corrections by others that were taken back: nothing rests on those, and they go with what they correct."""
    going = {model for model in made_models() if issubclass(model, Withdrawable) or model in _WAYS}
    found = with_corrections(load, stored_by(load), going)
    return {model: sorted(found[model]) for model in made_models() if model in found}


def counted_from(*models):
    """Called once by an app whose tables of counts follow from the records: rows of these rest on nothing."""
    _COUNTED.update(models)


def counted_models():
    """The tables of counts that apps have named."""
    return frozenset(_COUNTED)


def _ledger_hindrances(keys, made):
    entries = LedgerEntry.objects.in_effect().filter(pk__in=keys).select_related("lot")
    for entry in entries.filter(kind__in=_STEPS)[:1]:
        yield Hindrance(f"Lot {entry.lot}: “{entry.get_kind_display()}” was written by another step. Take that step back first.", entry.lot)
    parts = LotComponent.objects.filter(pk__in=made.get(LotComponent, ())).values_list("bulk", "component")
    mixed = {pair for bulk, component in parts for pair in ((bulk, component), (component, bulk))}
    left = LedgerEntry.objects.in_effect().filter(kind__in=LEDGER_LOSSES)
    for entry in entries.filter(kind__in=_MIXED):
        if (entry.lot_id, entry.counterpart_id) not in mixed:
            words = f"Lot {entry.lot}: the load mixed in more of a component that was there before. Take the component out on the page of"
            yield Hindrance(f"{words} the bulk lot, and enter what was there before.", entry.lot)
            return
        if entry.kind == LedgerKind.BULKED_IN and set(left.filter(lot=entry.lot).values_list("pk", flat=True)) - set(made[LedgerEntry]):
            words = f"Lot {entry.lot}: seeds or plants have left it, and what left had the mixture that the load entered."
            yield Hindrance(f"{words} Reverse or put back what was entered by mistake first.", entry.lot)
            return


_WAYS: dict[type, Callable] = {LedgerEntry: _ledger_hindrances}


def hindered_by(model, find):
    """Called once by an app whose append-only records can be taken back: `find(keys, made)` yields a Hindrance for each reason why not;
    `made` has the keys of all that the load stored, by type."""
    _WAYS[model] = find


def stays_on_file(model, instead):
    """Called once by an app: records of this type are not taken back with a load, and `instead` says what somebody does about one."""
    _STAY_ON_FILE[model] = instead


def marked_where_named_by(model, *others):
    """Called once by an app: plain records of a load stay, marked as withdrawn, where its append-only records of these types name them."""
    _MARKED[model] = others


def way_back(model):
    """What becomes of records of a type when their load is withdrawn, in words; of those that stay, what to do instead."""
    if _stays(model):
        return f"stays on file. {_instead(model)}"
    if model in _STAYS:
        return "stays on file as it was given"
    if model is LedgerEntry:
        return "gets its opposite"
    if issubclass(model, Withdrawable):
        return "is withdrawn, or gets the earlier values that it had corrected"
    return "is rejected" if issubclass(model, AppendOnly) else "leaves the records"


def _stays(model):
    """Whether records of a type keep their load from being withdrawn."""
    is_taken_back = model in _WAYS or model in _STAYS or issubclass(model, Withdrawable)
    return model in _STAY_ON_FILE or (issubclass(model, AppendOnly) and not is_taken_back)


def _instead(model):
    return _STAY_ON_FILE.get(model, "Correct it where it was entered.")


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
    found, made = [], goes_with(load)
    sets = {model: set(keys) for model, keys in made.items()}
    removed = {model: keys for model, keys in sets.items() if not issubclass(model, AppendOnly)}
    going = removed | {model: keys for model, keys in sets.items() if issubclass(model, (Withdrawable, SeedTestReplicate))}
    for model, keys in made.items():
        if model in _WAYS:
            for start in range(0, len(keys), AT_ONCE):
                found += _WAYS[model](keys[start : start + AT_ONCE], made)
        if issubclass(model, Withdrawable):
            found += _references(model, keys, going, restored, made)
        elif model in _WAYS:
            continue
        elif _stays(model):
            found.append(_never_goes(model, keys))
        elif model not in _STAYS:
            leave = going | {other: sets[other] for other in _MARKED.get(model, ()) if other in sets}
            found += _references(model, keys, leave, restored, made)
    about = AuditEntry.objects.filter(record_type="load", record_id=load.pk).order_by("pk")
    last = about.values_list("pk", flat=True).first() or 0  # its first entry is the last of the write that loaded it
    for model, keys in (*removed.items(), *restored.items()):
        found += _changed_since(model, sorted(keys), last)
    return found


def _never_goes(model, keys):
    record = model._base_manager.filter(pk=keys[0]).first()
    words = amount_words(len(keys), "records")
    stay = "stays" if len(keys) == 1 else "stay"
    return Hindrance(f"{words} of the kind “{model._meta.verbose_name}” {stay} on file. {_instead(model)}", record)


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
            rows = _that_count(other).filter(**{f"{name}__in": keys[start : start + AT_ONCE]})
            gone, back = leave.get(_holder(other), ()), restored.get(other, {})
            pairs = rows.values_list("pk", _holder_column(other))
            outside = [pk for pk, holder in pairs if holder not in gone and name not in back.get(pk, ())]
            if outside:
                is_own = issubclass(other, AppendOnly) and set(outside) <= set(made.get(other, ()))
                yield _stays_with(model, other, name, outside) if is_own else _reference(model, other, name, outside)
                break


def _that_count(model):
    """Rows that a record can rest on: no reversed ledger entry, nothing rejected, and nothing of a withdrawn load."""
    if model is LedgerEntry:
        return model.objects.in_effect()
    if (rows := in_effect(model)) is not None:
        return rows
    return model.objects if issubclass(model, Withdrawable) else model._base_manager


def _holder(model):
    """The record type that a row belongs to: of a link of a column that names several records it is the one with the column."""
    return model._meta.auto_created or model


def _holder_column(model):
    holder = _holder(model)
    return "pk" if holder is model else next(field.attname for field in model._meta.fields if field.related_model is holder)


def _stays_with(model, other, name, outside):
    """The load stored both, and one of them never goes."""
    row = other._base_manager.get(pk=outside[0])
    kinds = other._meta.verbose_name_plural
    words = f"{model._meta.verbose_name.capitalize()} {getattr(row, name)} stays, since {kinds} that this load stored are about it"
    return Hindrance(f"{words}, and those are never deleted. Correct or reject them instead.", row)


def _reference(model, other, name, outside):
    row = other._base_manager.get(pk=outside[0])
    target, record = getattr(row, name), row
    if _holder(other) is not other:
        record = getattr(row, _holder_column(other).removesuffix("_id"))
    kind = record._meta.verbose_name
    return Hindrance(f"{model._meta.verbose_name.capitalize()} {target}: a record of the kind “{kind}” rests on it ({record}).", record)


def _changed_since(model, keys, last):
    """Records that read otherwise in one of their own columns than when the load ended: what was changed and changed back does not count.

    An entry about what belongs to a record, such as trees of a planting or the state of reviews, says nothing here: those are found by
    their references.
    """
    columns = {field.name for field in model._meta.get_fields() if field.concrete}
    for start in range(0, len(keys), AT_ONCE):
        later = AuditEntry.objects.filter(record_type=stored_name(model), record_id__in=keys[start : start + AT_ONCE], pk__gt=last)
        later = later.exclude(verb__endswith="_reviewed")
        labels, net = {}, {}
        for record_id, label, changes in later.order_by("pk").values_list("record_id", "record_label", "changes"):
            labels[record_id] = label
            for name in columns & changes.keys():
                net.setdefault(record_id, {}).setdefault(name, [changes[name][0], None])[1] = changes[name][1]
        changed = {pk: labels[pk] for pk, found in net.items() if any(before != after for before, after in found.values())}
        for record_id, label in list(changed.items())[:1]:
            more = f" ({amount_words(len(changed), 'records')} in all)" if len(changed) > 1 else ""
            yield Hindrance(f"{label} was changed after the load{more}.", model._base_manager.filter(pk=record_id).first())
