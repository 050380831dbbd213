"""The short chain on the page of a lot: what it came from and what it led to."""

from registry.calc.shared.screen import amount_words
from registry.choices import LotOrigin
from registry.models import LotComponent
from registry.selectors.lots.lots import lot_ancestors
from registry.views.shared.addresses import record_url, reverse_to

_STEPS_MAX = 3


def kind_words(lot):
    return f"{lot.kind} lot"


def lot_chain(lot, components, children, lines):
    """Steps from the mother tree or outside origin to shipments; `children` is a queryset of the lots raised or split from it."""
    ancestors = lot_ancestors(lot)
    first = ancestors[0] if ancestors else lot
    steps = []
    if first.mother:
        steps.append(
            {"label": "mother tree", "code": first.mother.code, "url": record_url(first.mother), "note": first.mother.generation_code}
        )
    elif first.origin == LotOrigin.OUTSIDE:
        steps.append({"label": "outside origin", "code": first.outside_origin})
    steps += _some([_lot_step(part.component, amount_words(part.count, lot.unit), "component lot") for part in components])
    steps += [_lot_step(ancestor) for ancestor in ancestors]
    steps.append({"label": kind_words(lot), "code": lot.code, "note": str(lot.year or ""), "current": True})
    bulks = LotComponent.objects.filter(component=lot).select_related("bulk")[: _STEPS_MAX + 1]
    steps += _some([_lot_step(child, label=_child_words(child)) for child in children[: _STEPS_MAX + 1]])
    steps += _some([_lot_step(part.bulk, amount_words(part.count, lot.unit), "bulk lot") for part in bulks])
    return steps + _some([_shipment_step(line) for line in lines])


def _child_words(child):
    return "part of it" if child.origin == LotOrigin.SPLIT else "raised lot"


def _lot_step(lot, note="", label=""):
    return {"label": label or kind_words(lot), "code": lot.code, "url": record_url(lot), "note": note or str(lot.year or "")}


def _shipment_step(line):
    shipment = line.shipment
    return {
        "label": "shipment",
        "code": shipment.code,
        "url": reverse_to("shipment_detail", shipment.pk),
        "note": shipment.get_state_display(),
    }


def _some(steps):
    """At most three steps of one sort; the tables below have them all."""
    if len(steps) <= _STEPS_MAX:
        return steps
    return [*steps[:_STEPS_MAX], {"label": "and more", "code": "see below"}]
