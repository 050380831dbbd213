"""The draft of the data for a certificate of identity of a lot, made from the records."""

from registry.calc.shared.screen import amount_words, day_words
from registry.choices import CrossType, LotKind, LotOrigin
from registry.prints.drafts import identity_draft
from registry.selectors.lots.lot_words import engineered_trees, lot_words, mass_words
from registry.selectors.lots.lots import lot_ledger
from registry.selectors.lots.prints import family_lot
from registry.selectors.lots.seed_tests import lot_figures, lot_tests

__all__ = ["identity_document"]

_POLLINATION = {
    CrossType.OPEN: "open",
    CrossType.CONTROLLED: "controlled",
    CrossType.POLYMIX: "controlled (polymix)",
    CrossType.SELF: "controlled (self)",
}


def identity_document(lot, *, sender, scan, made_on, made):
    """The draft of the data for a certificate of identity; what is not recorded stays blank."""
    words = lot_words([lot])[lot.pk]
    facts = _identity_facts(lot, words) | _label_facts(lot) | {"supplier": sender}
    title = f"Draft data for a certificate of identity, {lot.code}"
    return identity_draft(facts, questions=words.questions, title=title, code=lot.code, scan=scan, made_on=made_on, made=made)


def _identity_facts(lot, words):
    family = family_lot(lot)
    ledger = lot_ledger(lot)
    mass = mass_words(words.grams_each * lot.balance) if words.grams_each else ""
    parts = [lot] if lot.origin != LotOrigin.BULK else [item.component for item in lot.components.select_related("component__mother")]
    families = [family_lot(part) for part in parts]
    engineered = engineered_trees([lot])
    return {
        "botanical_name": words.what,
        "nature": "seed units" if lot.kind == LotKind.SEED else "planting stock",
        "basic_material": _basic_material(families),
        "origin": f"{lot.outside_origin} (as declared)" if lot.origin == LotOrigin.OUTSIDE else "",
        "location": "; ".join(sorted({_orchard(part) for part in families} - {""})),
        "pollination": _POLLINATION.get(family.cross_type, "") if family.mother_id else "",
        "year": str(family.year or "") if family.kind == LotKind.SEED else "",
        "quantity": f"{amount_words(lot.balance, lot.unit)} on hand{f', about {mass}' if mass else ''}",
        "subdivision": f"split from lot {lot.parent.code}; certificate no. not recorded" if lot.origin == LotOrigin.SPLIT else "",
        "nursery_time": f"since {day_words(ledger[0].entry.on)}, the first entry of its ledger"
        if lot.kind == LotKind.STOCK and ledger
        else "",
        "components": _families(families),
        "modification": f"descends from engineered trees: {', '.join(engineered)}" if engineered else "no engineered parent recorded",
        "crossing": _crossing(lot, words),
        "other": f"generation {words.generation}; source of resistance {words.lineage.source}; recurrent line {words.lineage.line}",
    }


def _orchard(lot):
    if not (lot.mother and lot.mother.orchard):
        return ""
    return f"orchard {lot.mother.orchard}{f', block {lot.mother.block}' if lot.mother.block else ''}"


def _basic_material(families):
    """The type of basic material that all families of a lot share; blank when they differ or the records do not say."""
    kinds = {_material_of(family) for family in families}
    return kinds.pop() if len(kinds) == 1 else ""


def _material_of(family):
    if not family.mother_id:
        return ""
    if family.father_id:
        return "parents of family(ies)"
    if family.mother.orchard:
        return "seed orchard"
    wild = family.mother.generation_code == "native" and not family.mother.mother_id
    return "seed source" if wild else ""


def _families(families):
    mothers = sorted({family.mother.code for family in families if family.mother_id})
    if not mothers:
        return ""
    return f"{len(mothers)} {'family, of mother' if len(mothers) == 1 else 'families, of mothers'} {', '.join(mothers)}"


def _crossing(lot, words):
    if lot.origin != LotOrigin.BULK:
        return words.lineage.family if family_lot(lot).mother_id else ""
    components = list(lot.components.select_related("component"))
    total = sum(part.count for part in components)
    return "; ".join(f"{part.component.code} {100 * part.count / total:.1f} %" for part in components)


def _label_facts(lot):
    """Of the lot's own tests only; a handbook figure is not a figure of this seed."""
    if lot.kind != LotKind.SEED:
        return {}
    figures = lot_figures(lot, lot_tests(lot))
    germinable = figures.per_kg and figures.germination_share is not None and figures.per_kg * figures.germination_share
    return {
        "purity": "" if figures.purity_share is None else f"{100 * figures.purity_share:.1f}",
        "germination": "" if figures.germination_share is None else f"{100 * figures.germination_share:.0f}, by {figures.germination_from}",
        "thousand_seed_weight": f"{1_000_000 / figures.per_kg:,.0f}, by {figures.per_kg_from}" if figures.per_kg else "",
        "germinable": f"{germinable:,.0f}" if germinable else "",
    }
