"""Lots and all the lots they were made of, read for the numbers of their pedigree."""

from collections import defaultdict
from fractions import Fraction

from registry import choices
from registry.calc.pedigree.expected_shares import shares_of_parts
from registry.calc.pedigree.loops import find_loops
from registry.models import Lot, LotComponent
from registry.selectors.identity.descent import linked
from registry.selectors.pedigree.loops import loop_words
from registry.selectors.pedigree.tree_facts import stated_donor_share

__all__ = ["LotReading", "declared_donor_share", "parents_of_lot"]


class LotReading:
    """Lots and all the lots they were made of."""

    def __init__(self, keys):
        self.rows, self.parts = {}, {}
        wave = set(keys)
        while wave:
            fields = (
                "pk",
                "origin",
                "parent",
                "mother",
                "father",
                "pollen_pool",
                "cross_type",
                "outside_origin",
                "declared_source",
                "backcrosses",
                "intercrosses",
                "generation_other",
                "taxon__name",
                "taxon__role",
            )
            found = Lot.objects.filter(pk__in=wave).order_by().values_list(*fields, named=True)
            self.rows |= {row.pk: row for row in found}
            components = defaultdict(list)
            for bulk, component, count in linked(LotComponent.objects, "bulk", wave, "bulk", "component", "count"):
                components[bulk].append((component, count))
            for pk in wave:
                self.parts["lot", pk] = self._parts(self.rows[pk], components[pk])
            wave = {part[1] for pk in wave for part, _ in self.parts["lot", pk]} - self.rows.keys()

    @staticmethod
    def _parts(row, components):
        if row.origin in (choices.LotOrigin.SOWN, choices.LotOrigin.SPLIT):
            return [(("lot", row.parent), Fraction(1))]
        total = sum(count for _, count in components)
        return [(("lot", component), Fraction(count, total)) for component, count in components]

    def parents(self):
        return {parent for row in self.rows.values() for parent in (row.mother, row.father) if parent}

    def weights(self, pk):
        """{("lot", key): share} of the lots this one was made of that were not made of others.

        Raises ValueError, in words and with the codes, when a lot is its own component.
        """
        try:
            return shares_of_parts(self.parts, ("lot", pk))
        except ValueError:
            origins = {name: [part for part, _ in parts] for name, parts in self.parts.items()}
            loops = "; ".join(map(loop_words, find_loops(origins, [("lot", pk)])))
            raise ValueError(f"{loops}. A lot cannot be its own component. Correct one of these lots.") from None


def parents_of_lot(row):
    """(mother, father, pool) of a harvested lot; of a selfed one the mother twice."""
    own = row.cross_type == choices.CrossType.SELF and not row.father
    return row.mother, row.mother if own else row.father, row.pollen_pool


def declared_donor_share(row):
    """The donor share of a lot that comes from outside, by its declared generation or else its species; None where neither says."""
    if row.origin != choices.LotOrigin.OUTSIDE:
        return None
    generation = row.backcrosses, row.intercrosses, row.generation_other
    return stated_donor_share(*generation, row.taxon__role, True, bool(row.declared_source.strip()))
