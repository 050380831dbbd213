"""Trees, pollen pools and lots read once, and the numbers calculated from them."""

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from django.utils.functional import cached_property

from registry import choices
from registry.calc.orchard.pollen_pool import expected_father, without_outside
from registry.calc.pedigree.ancestry import only_ancestors
from registry.calc.pedigree.expected_shares import UNKNOWN, depth_of_parts, shares_of_parts
from registry.calc.pedigree.inbreeding import coancestry_with
from registry.calc.pedigree.kinship import Gametes, expected_coancestry
from registry.calc.pedigree.loops import find_loops
from registry.calc.pedigree.pedigree import read_pedigree
from registry.models import PedigreeTree
from registry.selectors.identity.descent import linked
from registry.selectors.pedigree.loops import loop_words
from registry.selectors.pedigree.lot_reading import declared_donor_share, parents_of_lot
from registry.selectors.pedigree.tree_facts import ancestor_rows, outside_donor_shares, pool_facts, pool_rows, tree_facts
from registry.selectors.people.programme import AS_NATIVE, setting

__all__ = [
    "ASSUMED",
    "COUNTED_AS_NATIVE",
    "KINSHIP_MAX",
    "FounderShare",
    "PedigreeNumbers",
    "PedigreeReading",
    "loops_in_words",
    "pedigree_of_rows",
]

_HALF = Fraction(1, 2)
COUNTED_AS_NATIVE = "counted as native"
ASSUMED = ("assumed", "native")  # the founder that unknown parents of native trees count as
KINSHIP_MAX = 2_000  # ancestors in one table of all pairs; with more, a pollen pool among them counts as unrelated


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

    `native`, `donor` and `not_known` sum to 1 too: a founder that is a cross itself counts by the share its generation states. `other` is
    the part of `not_known` that is of species neither native nor donor, `assumed` the part of `native` that is of unknown parents of native
    trees, where the programme counts them as native.
    `native_inside` is `native` had no pollen come from outside the pools; None where the fathers are then not known.
    `inbreeding` counts unknown parents and outside pollen as unrelated, and a pollen pool by its expected father; None where the pedigree
    cannot be read. `inbreeding_at_least` says that there were too many ancestors for that, and pools among them count as unrelated.
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
    native_inside: Fraction | None = None
    inbreeding_at_least: bool = False
    other: Fraction = Fraction(0)
    assumed: Fraction = Fraction(0)


def pedigree_of_rows(rows):
    return read_pedigree((row.pk, row.mother or "", row.father or "") for row in rows.values())


def loops_in_words(rows, pools, lots=None):
    """The loops among rows of trees, their pools and lots, by codes, and what to do."""
    origins = {("tree", row.pk): [("tree", parent) for parent in (row.mother, row.father) if parent] for row in rows.values()}
    origins |= {("pool", pool.pk): [("tree", member) for member, _ in pool.members] for pool in pools.values()}
    for row in rows.values():
        if row.pool in pools and not row.father:
            origins["tree", row.pk].append(("pool", row.pool))
    origins |= {name: [part for part, _ in parts] for name, parts in (lots.parts if lots else {}).items()}
    return f"{'; '.join(map(loop_words, find_loops(origins)))}. Nothing comes from itself: correct one of these."


class PedigreeReading:
    """Trees, pools and lots read once, as the parts each is made of."""

    def __init__(self, trees, lots=None):
        self.lots = lots
        self.problems = []
        of_lots = pool_rows({row.pollen_pool for row in lots.rows.values()} - {None}) if lots else {}
        members = {member for pool in of_lots.values() for member, _ in pool.members}
        self.rows, pools = ancestor_rows({*trees, *members})
        self.pools = of_lots | pools
        self.fathers = {}
        self.parts = self._parts()

    def _parts(self, inside=False):
        """What every tree and lot comes from; with `inside`, had no pollen come from outside the pools."""
        parts = {}
        for pk, row in self.rows.items():
            if _has_parents(row):
                parts[pk] = self._crossed(row.mother, row.father, row.pool, inside, self._unknown(row, row.pool, row.role, row.source))
        if self.lots:
            parts |= {key: found or self._harvested(self.lots.rows[key[1]], inside) for key, found in self.lots.parts.items()}
        return parts

    def _crossed(self, mother, father, pool, inside, unknown):
        parts = [(mother or unknown, _HALF)]
        if father or not pool:
            return [*parts, (father or unknown, _HALF)]
        expected = self._father(pool, mother, inside)
        if expected is None:
            return [*parts, (UNKNOWN, _HALF)]
        parts += [(UNKNOWN if tree is None else tree, share * _HALF) for tree, share in expected.trees.items()]
        outside = [(label if label == UNKNOWN else ("outside", label), share) for label, share in expected.outside.items()]
        return parts + [(label, share * _HALF) for label, share in outside]

    def _father(self, pool, mother, inside=False):
        """The expected father, None where the pool cannot be read; its fault is among the problems, once."""
        if pool not in self.fathers:
            try:
                self.fathers[pool] = pool_facts(self.pools[pool])
            except ValueError as error:
                self.fathers[pool] = None
                self.problems.append(f"Pollen pool {self.pools[pool].code} cannot be read, so its father is not known. {error}")
        facts = self.fathers[pool]
        if facts and inside:
            facts = without_outside(facts)
        return expected_father(facts, mother) if facts else None

    def _harvested(self, row, inside):
        if row.mother is None:
            return []
        return self._crossed(*parents_of_lot(row), inside, self._unknown(row, row.pollen_pool, row.taxon__role, row.declared_source))

    def _unknown(self, row, pool, role, source):
        """What an unknown parent of a tree or a harvest counts as: `ASSUMED` of a native one, where the programme says so.

        One query for the setting, the first time it matters.
        """
        if row.mother and (row.father or pool):
            return UNKNOWN
        return ASSUMED if self._is_native(row, role, source) and self._counts_as_native else UNKNOWN

    def _is_native(self, row, role, source):
        """Whether it is stated as native; without a stated generation, whether its species and its known parent are."""
        if row.backcrosses is not None or row.generation_other.strip():
            return row.generation_other.strip().lower() == "native"
        known = [self.rows[parent] for parent in (row.mother, row.father) if parent in self.rows]
        return role == choices.TaxonRole.NATIVE and not source.strip() and all(tree_facts(parent).donor_share == 0 for parent in known)

    @cached_property
    def _counts_as_native(self):
        return setting(choices.ProgrammeKey.UNKNOWN_NATIVE_PARENT) == AS_NATIVE

    def numbers(self, start):
        try:
            shares = shares_of_parts(self.parts, start)
            depth = depth_of_parts(self.parts, start)
        except ValueError:
            words = f"The pedigree cannot be used in a calculation: {loops_in_words(self.rows, self.pools, self.lots)}"
            return PedigreeNumbers((), (), Fraction(0), Fraction(0), Fraction(1), None, 0, (*self.problems, words))
        founders = self._founders(shares)
        species = defaultdict(Fraction)
        for founder in founders:
            species[founder.species] += founder.share
        native, donor = self.native_and_donor(shares)
        inbreeding, at_least = self._inbreeding(start)
        ordered = sorted(species.items(), key=lambda pair: (pair[0] == UNKNOWN, -pair[1], pair[0]))
        return PedigreeNumbers(
            founders, tuple(ordered), native, donor, 1 - native - donor, inbreeding, depth, tuple(self.problems),
            self._native_inside(start, native, donor), at_least, sum((shares[key] for key in shares if self._is_other(key)), Fraction(0)),
            shares.get(ASSUMED, Fraction(0)),
        )  # fmt: skip

    def _native_inside(self, start, native, donor):
        if any(pool.outside_share for pool in self.pools.values()):
            native, donor = self.native_and_donor(shares_of_parts(self._parts(inside=True), start))
        return native if native + donor == 1 else None

    def _founders(self, shares):
        trees = [key for key in shares if isinstance(key, int)]
        names = {pk: (code, taxon) for pk, code, taxon in linked(PedigreeTree.objects, "pk", trees, "pk", "code", "taxon__name")}
        found = []
        for key, share in shares.items():
            if key == UNKNOWN:
                found.append(FounderShare(None, "not known", UNKNOWN, share))
            elif key == ASSUMED:
                found.append(FounderShare(None, "unknown parents of native trees", COUNTED_AS_NATIVE, share))
            elif isinstance(key, int):
                found.append(FounderShare(key, *names[key], share))
            elif key[0] == "outside":
                found.append(FounderShare(None, "outside pollen", key[1], share))
            else:
                row = self.lots.rows[key[1]]
                species = row.taxon__name if row.origin == choices.LotOrigin.OUTSIDE else UNKNOWN
                found.append(FounderShare(None, row.outside_origin or "nothing mixed in yet", species, share))
        return tuple(sorted(found, key=lambda founder: (founder.species == UNKNOWN, -founder.share, founder.name)))

    def native_and_donor(self, shares):
        """(share of native species, share of donor species) of shares of founders; what is missing to 1 is not known."""
        native = donor = Fraction(0)
        outside = outside_donor_shares(self.pools.values())
        for key, share in shares.items():
            of_donor = None
            if isinstance(key, int):
                of_donor = tree_facts(self.rows[key]).donor_share
            elif key == ASSUMED:
                of_donor = Fraction(0)
            elif key != UNKNOWN and key[0] == "outside":
                of_donor = outside.get(key[1])
            elif key != UNKNOWN:
                of_donor = declared_donor_share(self.lots.rows[key[1]])
            if of_donor is not None:
                native += share * (1 - of_donor)
                donor += share * of_donor
        return native, donor

    def _is_other(self, key):
        """Whether a founder states no share and is of a species that is neither native nor donor."""
        if isinstance(key, int):
            return tree_facts(self.rows[key]).donor_share is None and self.rows[key].role == choices.TaxonRole.OTHER
        if key in (UNKNOWN, ASSUMED):
            return False
        if key[0] == "outside":
            return any(pool.outside == key[1] and pool.outside_role == choices.TaxonRole.OTHER for pool in self.pools.values())
        row = self.lots.rows[key[1]]
        outside = row.origin == choices.LotOrigin.OUTSIDE and declared_donor_share(row) is None
        return outside and row.taxon__role == choices.TaxonRole.OTHER

    # -- inbreeding

    def _inbreeding(self, start):
        """(expected F, whether that is only a lower bound). Of a lot the mean over the harvests it was made of, by their parts."""
        crosses = [(self._cross(self.rows[start]), 1.0)] if isinstance(start, int) else self._crosses_of_lot(start[1])
        crosses = [(mother, fathers, share) for (mother, fathers), share in crosses if mother is not None and fathers]
        if not crosses:
            return 0.0, False
        pooled = self.has_pools()
        if pooled and len(self.rows) <= KINSHIP_MAX:
            return self._inbreeding_through_pools(crosses), False
        pedigree = pedigree_of_rows(self.rows)
        found = 0.0
        for mother, fathers, share in crosses:
            names = [str(father) for father in fathers]
            values = coancestry_with(only_ancestors(pedigree, [str(mother), *names]), str(mother), names)
            found += share * sum(float(part) * value for part, value in zip(fathers.values(), values, strict=True))
        return found, pooled

    def has_pools(self):
        """Whether the father of any of these trees is a pollen pool."""
        return any(row.pool and not row.father for row in self.rows.values())

    def gametes(self):
        return {row.pk: Gametes(*self._cross(row)) for row in self.rows.values() if _has_parents(row)}

    def _inbreeding_through_pools(self, crosses):
        trees = self.gametes()
        names = list(dict.fromkeys(name for mother, fathers, _ in crosses for name in (mother, *fathers)))
        table, place = expected_coancestry(trees, names), {name: number for number, name in enumerate(names)}
        return sum(
            share * sum(float(part) * float(table[place[mother], place[father]]) for father, part in fathers.items())
            for mother, fathers, share in crosses
        )

    def _crosses_of_lot(self, pk):
        rows = [(self.lots.rows[key[1]], float(share)) for key, share in self.lots.weights(pk).items()]
        return [((row.mother, self._fathers(*parents_of_lot(row))), share) for row, share in rows]

    def _cross(self, row):
        return row.mother, self._fathers(row.mother, row.father, row.pool)

    def _fathers(self, mother, father, pool):
        """{tree: share} of those who may be the father."""
        if father or not pool:
            return {father: Fraction(1)} if father else {}
        expected = self._father(pool, mother)
        # where the mother is not known, neither is the tree that selfed
        return {tree: share for tree, share in expected.trees.items() if tree is not None} if expected else {}


def _has_parents(row):
    return row.mother is not None or row.father is not None or row.pool is not None
