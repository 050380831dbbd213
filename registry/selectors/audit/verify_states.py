"""The records that may change on screen, against the last state of each that the audit trail has."""

from registry.calc.shared.screen import amount_words
from registry.models import AuditEntry
from registry.selectors.audit.record_hashes import HASHES
from registry.selectors.audit.record_states import STATED, states_of

__all__ = ["state_faults"]

_CHUNK = 500
_SHOWN = 5


def state_faults():
    """(what was looked at, faults): what was changed, added or removed past the program in the columns that `STATED` names."""
    wanted = {}
    entries = AuditEntry.objects.filter(changes__has_key=HASHES).order_by("pk").values_list("changes")
    for (changes,) in entries.iterator(chunk_size=_CHUNK):
        wanted |= {name: state for name, state in changes[HASHES][1].items() if name.startswith("state of ")}
    faults, count, unknown = [], 0, []
    for model, stated in STATED.items():
        for name, state in states_of(model):
            count += 1
            before = wanted.pop(name, None)
            if before is None and (stated.is_strict or int(name.rpartition(" ")[2]) < 1):  # the program gives no such number
                faults.append(f"{_who(model, stated, name)}: the audit trail does not know it. It was added outside the program")
            elif before is None:
                unknown.append((model, stated, name))
            elif before != state:
                faults.append(f"{_who(model, stated, name)}: {_difference(model, before, state)}. It was changed outside the program")
    faults += [f"{name.removeprefix('state of ')}: it was removed" for name, state in wanted.items() if state is not None]
    seen = amount_words(count, "records")
    if unknown:
        named = ", ".join(_who(*one) for one in unknown[:_SHOWN])
        seen += f", {len(unknown):,} of them not in the audit trail: {named}{' …' if len(unknown) > _SHOWN else ''}"
    return seen, faults


def _who(model, stated, name):
    """The record of a state in words."""
    key = name.rpartition(" ")[2]
    if stated.group:
        parent = model._meta.get_field(stated.group.removesuffix("_id")).related_model
        return f"{model._meta.verbose_name_plural} of {_named(parent, key)}"
    return _named(model, key)


def _named(model, key):
    """A record with the word for its type, unless its own words begin with that, such as “token of …”."""
    label, word = _label(model, key), str(model._meta.verbose_name)
    return label if label.startswith(f"{word.split()[-1]} ") else f"{word} {label}"


def _label(model, key):
    record = model._base_manager.filter(pk=key).first()
    return str(record) if record else f"no. {key}"


def _difference(model, before, state):
    if "sum" in state:
        if before["rows"] != state["rows"]:
            return f"{before['rows']:,} are in the audit trail, {state['rows']:,} are there"
        return f"at least one has another {STATED[model].differs} than in the audit trail"
    changed = [name for name, value in state.items() if before.get(name) != value]
    return ", ".join(
        f"{name.removesuffix('_id').replace('_', ' ')} is {_value(model, name, state[name])}, "
        f"in the audit trail {_value(model, name, before.get(name))}"
        for name in changed
    )


def _value(model, name, value):
    if value in (None, ""):
        return "blank"
    field = model._meta.get_field(name.removesuffix("_id"))
    return _label(field.related_model, value) if field.is_relation else f"{value}"
