"""The short chain on the page of a lot: what it came from and what it led to."""

from registry.calc.shared.screen import amount_words
from registry.choices import LotOrigin
from registry.models import LotComponent
from registry.selectors.lots.lots import lot_ancestors
from registry.views.shared.addresses import record_url
from registry.views.shared.details import chain_step

_STEPS_MAX = 3


def kind_words(lot):
    return f"{lot.kind} lot"


def lot_chain(lot, components, children, lines):
    """Steps from the mother tree or outside origin to shipments; `children` is a queryset of the lots raised or split from it."""
    ancestors = lot_ancestors(lot)
    first = ancestors[0] if ancestors else lot
    steps = []
    if first.mother:
        steps.append(chain_step("mother tree", first.mother.code, record_url(first.mother), first.mother.generation_code))
    elif first.origin == LotOrigin.OUTSIDE:
        steps.append(chain_step("outside origin", first.outside_origin))
    steps += _some([_lot_step(part.component, amount_words(part.count, lot.unit), "component lot") for part in components])
    steps += [_lot_step(ancestor) for ancestor in ancestors]
    steps.append(chain_step(kind_words(lot), lot.code, note=str(lot.year or ""), current=True))
    bulks = LotComponent.objects.filter(component=lot).select_related("bulk")[: _STEPS_MAX + 1]
    steps += _some([_lot_step(child, label=_child_words(child)) for child in children[: _STEPS_MAX + 1]])
    steps += _some([_lot_step(part.bulk, amount_words(part.count, lot.unit), "bulk lot") for part in bulks])
    return steps + _some([_shipment_step(line) for line in lines])


def _child_words(child):
    return "part of it" if child.origin == LotOrigin.SPLIT else "raised lot"


def _lot_step(lot, note="", label=""):
    return chain_step(label or kind_words(lot), lot.code, record_url(lot), note or str(lot.year or ""))


def _shipment_step(line):
    shipment = line.shipment
    return chain_step("shipment", shipment.code, record_url(shipment), shipment.get_state_display())


def _some(steps):
    """At most three steps of one sort; the tables below have them all."""
    if len(steps) <= _STEPS_MAX:
        return steps
    return [*steps[:_STEPS_MAX], chain_step("and more", "see below")]
