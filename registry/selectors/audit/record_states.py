"""What must stay true of records that may change on screen: a few columns of each, as the audit trail has them.

An entry holds them beside the hashes of append-only rows (see `record_hashes`), as {"state of person 12": {"role": "lead", ...}}, and of
rows stored by the thousand as {"state of tree of planting 5": {"rows": how many, "sum": sum of their hashes}}. A write adds the state
of each such record that it touched; `verify` compares the last one with what is stored.
"""

from collections.abc import Iterator
from typing import NamedTuple

from registry.calc.audit.chain import chain_sha256
from registry.models import (
    AccessToken,
    Lot,
    LotComponent,
    PedigreeTree,
    Person,
    PollenPoolMember,
    PrivateLink,
    ReceiptLine,
    Shipment,
    ShipmentLine,
)
from registry.selectors.audit.record_hashes import json_value, sum_words

__all__ = ["STATED", "Stated", "state_key", "state_name", "state_of_rows", "states_of", "stated_by"]

_CHUNK = 500
_PARENTS = ("mother_id", "father_id", "pollen_pool_id")


class Stated(NamedTuple):
    """The columns of a record type; with `group`, the column by which its rows are summed, and in words what may differ."""

    names: tuple[str, ...]
    group: str = ""
    differs: str = ""
    is_strict: bool = False  # every record must have a state


STATED = {
    AccessToken: Stated(("person_id", "token_sha256", "ends_on", "revoked_at"), is_strict=True),
    PrivateLink: Stated(("person_id", "token_sha256", "ends_on", "revoked_at"), is_strict=True),
    Person: Stated(("username", "role", "is_active", "is_staff", "is_superuser", "partner_id"), is_strict=True),
    PedigreeTree: Stated(
        ("code", "taxon_id", *_PARENTS, "backcrosses", "intercrosses", "generation_other", "regulated_engineered", "planted_year")
    ),
    PollenPoolMember: Stated(("tree_id", "weight"), "pool_id", "tree or weight"),
    Lot: Stated(("code", "kind", "origin", "taxon_id", "year", *_PARENTS, "parent_id")),
    LotComponent: Stated(("component_id", "count", "bulked_on"), "bulk_id", "lot, count or day"),
    Shipment: Stated(("code", "receiver_id", "state", "dispatched_on", "site_code")),
    ShipmentLine: Stated(("lot_id", "form", "quantity"), "shipment_id", "lot, form or number"),
    ReceiptLine: Stated(("line_id", "sound", "sprouted", "spoiled"), "receipt_id", "line or number"),
}


def stated_by(model, names, *, group="", differs="", is_strict=False):
    """Called once by an app whose records have columns that must stay true."""
    STATED[model] = Stated(tuple(names), group, differs, is_strict)


def state_key(model, record):
    """What the state of a record is found by: its key, or that of its group."""
    stated = STATED[model]
    return getattr(record, stated.group) if stated.group else record.pk


def state_name(model, key):
    """What the state of a record, or of a group of rows, is called in the trail, by its `state_key`."""
    stated, name = STATED[model], model._meta.model_name
    return f"state of {name} of {stated.group.removesuffix('_id')} {key}" if stated.group else f"state of {name} {key}"


def states_of(model, keys=None) -> Iterator[tuple[str, dict]]:
    """(name, state) of records as they are stored; `keys` are those of the groups where rows are summed."""
    stated = STATED[model]
    rows = model._base_manager.all()
    if keys is not None:
        rows = rows.filter(**{f"{stated.group or 'pk'}__in": keys})
    yield from state_of_rows(rows, stated, model._meta.model_name)


def state_of_rows(rows, stated, model_name):
    """(name, state) of the rows of a queryset, in the order of their keys."""
    if not stated.group:
        for pk, *values in rows.order_by("pk").values_list("pk", *stated.names).iterator(chunk_size=_CHUNK):
            yield f"state of {model_name} {pk}", {name: _state_value(value) for name, value in zip(stated.names, values, strict=True)}
        return
    hashes, current = [], None
    rows = rows.filter(**{f"{stated.group}__isnull": False})  # a row that left its group has no state
    read = rows.order_by(stated.group, "pk").values_list(stated.group, "pk", *stated.names)
    for key, *values in read.iterator(chunk_size=_CHUNK):
        if key != current and current is not None:
            yield _sum(model_name, stated, current, hashes)
            hashes = []
        current = key
        hashes.append(chain_sha256("", {name: json_value(value) for name, value in zip(("pk", *stated.names), values, strict=True)}))
    if current is not None:
        yield _sum(model_name, stated, current, hashes)


def _state_value(value):
    # a float goes as text: a database may write it in another way, and then the hash of the entry would differ
    return repr(value) if isinstance(value, float) else json_value(value)


def _sum(model_name, stated, key, hashes):
    return f"state of {model_name} of {stated.group.removesuffix('_id')} {key}", {"rows": len(hashes), "sum": sum_words(hashes)}
