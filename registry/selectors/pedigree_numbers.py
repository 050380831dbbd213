"""What the pedigree says of a tree or a lot in numbers: expected shares of founders and species, inbreeding, depth."""

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from registry import choices
from registry.calc.expected_shares import UNKNOWN, depth_of_parts, shares_of_parts
from registry.calc.inbreeding import coancestry_with
from registry.calc.inbreeding import inbreeding as inbreeding_of
from registry.calc.pedigree import Pedigree, only_ancestors, read_pedigree
from registry.calc.pollen_pool import expected_father
from registry.models import Lot, LotComponent, PedigreeTree
from registry.selectors.descent import linked
from registry.selectors.tree_facts import ancestor_rows, outside_donor_shares, pool_facts, pool_rows, tree_facts

__all__ = ["FounderShare", "PedigreeNumbers", "ancestor_pedigree", "harvest_parts", "lot_numbers", "tree_numbers"]

_HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class FounderShare:
    """The expected share of one founder. `key` is the tree's, None for outside pollen, lots from outside and what is not known."""

    key: int | None
    name: str
    species: str
    share: Fraction


@dataclass(frozen=True, slots=True)
class PedigreeNumbers:
    """Expected, never measured. The shares of founders sum to 1, and so do those of species.

    `native`, `donor` and `not_known` sum to 1 too: a founder that is a cross itself counts by the share its generation states.
    `inbreeding` counts unknown parents and outside pollen as unrelated; None where the pedigree cannot be read.
    `problems` are sentences: what could not be read, and what to do.
    """

    founders: tuple[FounderShare, ...]
    species: tuple[tuple[str, Fraction], ...]
    native: Fraction
    donor: Fraction
    not_known: Fraction
    inbreeding: float | None
    depth: int
    problems: tuple[str, ...] = ()


def tree_numbers(tree):
    """PedigreeNumbers of a tree, through its ancestors only: a query for each generation, two where pools are met, one for names."""
    return _Reading(trees=[tree.pk]).numbers(tree.pk)


def lot_numbers(lot):
    """PedigreeNumbers of a lot, through its mother and father, pollen pool, parent lot or components by their counts.

    Two queries for each step from lot to lot, then as for a tree.
    """
    lots = _LotReading([lot.pk])
    return _Reading(trees=lots.parents(), lots=lots).numbers(("lot", lot.pk))


def harvest_parts(lot):
    """[(mother, father, pool, share of the lot)] of the harvests a lot of any origin was made of, and the share that has no mother in the
    book. Two queries for each step from lot to lot."""
    lots = _LotReading([lot.pk])
    found, unknown = [], Fraction(0)
    for key, share in lots.weights(lot.pk).items():
        row = lots.rows[key[1]]
        if row.mother is None:
            unknown += share
        else:
            own = row.cross_type == choices.CrossType.SELF and not row.father
            found.append((row.mother, row.mother if own else row.father, row.pollen_pool, share))
    return found, unknown


def ancestor_pedigree(keys):
    """Pedigree of trees and their ancestors by mother and father; names are the keys as text. A query a generation.

    Raises ValueError in words when the book has a circle of parents.
    """
    rows, _ = ancestor_rows(keys, through_pools=False)
    return _pedigree(rows)


def _pedigree(rows):
    return read_pedigree((row.pk, row.mother or "", row.father or "") for row in rows.values())


class _LotReading:
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
        """{("lot", key): share} of the lots this one was made of that were not made of others."""
        return shares_of_parts(self.parts, ("lot", pk))


class _Reading:
    """Trees, pools and lots read once, as the parts each is made of."""

    def __init__(self, trees, lots=None):
        self.lots = lots
        self.problems = []
        of_lots = pool_rows({row.pollen_pool for row in lots.rows.values()} - {None}) if lots else {}
        members = {member for pool in of_lots.values() for member, _ in pool.members}
        self.rows, pools = ancestor_rows({*trees, *members})
        self.pools = of_lots | pools
        self.fathers = {}
        self.parts = {pk: self._crossed(row.mother, row.father, row.pool) for pk, row in self.rows.items() if _has_parents(row)}
        if lots:
            self.parts |= {key: parts or self._harvested(lots.rows[key[1]]) for key, parts in lots.parts.items()}

    def _crossed(self, mother, father, pool):
        parts = [(mother or UNKNOWN, _HALF)]
        if father or not pool:
            return [*parts, (father or UNKNOWN, _HALF)]
        expected = self._father(pool, mother)
        if expected is None:
            return [*parts, (UNKNOWN, _HALF)]
        parts += [(UNKNOWN if tree is None else tree, share * _HALF) for tree, share in expected.trees.items()]
        outside = [(label if label == UNKNOWN else ("outside", label), share) for label, share in expected.outside.items()]
        return parts + [(label, share * _HALF) for label, share in outside]

    def _father(self, pool, mother):
        """The expected father, None where the pool cannot be read; its fault is among the problems, once."""
        if pool not in self.fathers:
            try:
                self.fathers[pool] = pool_facts(self.pools[pool])
            except ValueError as error:
                self.fathers[pool] = None
                self.problems.append(f"Pollen pool {self.pools[pool].code} cannot be read, so its father is not known. {error}")
        facts = self.fathers[pool]
        return expected_father(facts, mother) if facts else None

    def _harvested(self, row):
        if row.mother is None:
            return []
        own = row.cross_type == choices.CrossType.SELF and not row.father
        return self._crossed(row.mother, row.mother if own else row.father, row.pollen_pool)

    def numbers(self, start):
        try:
            shares = shares_of_parts(self.parts, start)
            depth = depth_of_parts(self.parts, start)
        except ValueError as error:
            return PedigreeNumbers((), (), Fraction(0), Fraction(0), Fraction(1), None, 0, (*self.problems, self._in_words(str(error))))
        founders = self._founders(shares)
        species = defaultdict(Fraction)
        for founder in founders:
            species[founder.species] += founder.share
        native, donor = self._native_and_donor(shares)
        inbreeding = self._inbreeding_of_lot(start[1]) if self.lots else self._inbreeding_of_tree(self.rows[start])
        ordered = sorted(species.items(), key=lambda pair: (pair[0] == UNKNOWN, -pair[1], pair[0]))
        return PedigreeNumbers(founders, tuple(ordered), native, donor, 1 - native - donor, inbreeding, depth, tuple(self.problems))

    def _in_words(self, text):
        return f"The pedigree cannot be reckoned with: {text} The trees are named by their numbers in the address of their pages."

    def _founders(self, shares):
        trees = [key for key in shares if isinstance(key, int)]
        names = {pk: (code, taxon) for pk, code, taxon in linked(PedigreeTree.objects, "pk", trees, "pk", "code", "taxon__name")}
        found = []
        for key, share in shares.items():
            if key == UNKNOWN:
                found.append(FounderShare(None, "not known", UNKNOWN, share))
            elif isinstance(key, int):
                found.append(FounderShare(key, *names[key], share))
            elif key[0] == "outside":
                found.append(FounderShare(None, "outside pollen", key[1], share))
            else:
                row = self.lots.rows[key[1]]
                species = row.taxon__name if row.origin == choices.LotOrigin.OUTSIDE else UNKNOWN
                found.append(FounderShare(None, row.outside_origin or "nothing mixed in yet", species, share))
        return tuple(sorted(found, key=lambda founder: (founder.species == UNKNOWN, -founder.share, founder.name)))

    def _native_and_donor(self, shares):
        native = donor = Fraction(0)
        outside = outside_donor_shares(self.pools.values())
        for key, share in shares.items():
            of_donor = None
            if isinstance(key, int):
                of_donor = tree_facts(self.rows[key]).donor_share
            elif key != UNKNOWN and key[0] == "outside":
                of_donor = outside.get(key[1])
            if of_donor is not None:
                native += share * (1 - of_donor)
                donor += share * of_donor
        return native, donor

    # -- inbreeding

    def _inbreeding_of_tree(self, row):
        pedigree = _pedigree(self.rows)
        if row.father or not row.pool:
            cut = only_ancestors(pedigree, [str(row.pk)])
            return float(inbreeding_of(cut)[cut.position(str(row.pk))])
        return self._expected_inbreeding(pedigree, row.mother, row.father, row.pool)

    def _inbreeding_of_lot(self, pk):
        weights = self.lots.weights(pk)
        pedigree = _pedigree(self.rows) if self.rows else None
        total = 0.0
        for key, share in weights.items():
            row = self.lots.rows[key[1]]
            if row.mother is not None:
                own = row.cross_type == choices.CrossType.SELF and not row.father
                total += float(share) * self._expected_inbreeding(pedigree, row.mother, row.mother if own else row.father, row.pollen_pool)
        return total

    def _expected_inbreeding(self, pedigree: Pedigree, mother, father, pool):
        """Coancestry of the mother with her expected fathers."""
        fathers = {father: Fraction(1)} if father else {}
        if pool and not father:
            expected = self._father(pool, mother)
            fathers = expected.trees if expected else {}
        if mother is None or not fathers:
            return 0.0
        names = [str(tree) for tree in fathers]
        found = coancestry_with(only_ancestors(pedigree, [str(mother), *names]), str(mother), names)
        return sum(float(share) * value for share, value in zip(fathers.values(), found, strict=True))


def _has_parents(row):
    return row.mother is not None or row.father is not None or row.pool is not None
