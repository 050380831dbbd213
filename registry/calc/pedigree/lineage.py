"""Source of resistance and recurrent line of every tree, derived from its parents and from statements at the trees where they begin."""

from collections.abc import Hashable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from registry.calc.orchard.pollen_pool import PollenPool
from registry.calc.pedigree.mixtures import NOT_STATED, SILENT, blended_labels, mixture_label


class TreeFacts(NamedTuple):
    """What is written down of a tree.

    `donor_share` is its expected share of donor species as stated by its generation or species; None where nothing is stated, when it is
    the mean of its parents. `source` and `line` are statements; blank where the tree takes them from its parents.
    """

    mother: Hashable = None
    father: Hashable = None
    pool: Hashable = None
    donor_share: Fraction | None = None
    source: str = ""
    line: str = ""


class TreeLineage(NamedTuple):
    """Source and line of a tree as parts that sum to 1. Not to be changed: trees that are alike share them.

    `source` is empty for a tree without donor ancestry. `donor_share` is None where it is not known.
    """

    source: dict[str, Fraction]
    line: dict[str, Fraction]
    donor_share: Fraction | None


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A statement at a tree that its parents contradict. `what` is "source of resistance" or "recurrent line"."""

    tree: Hashable
    what: str
    stated: str
    derived: dict[str, Fraction]

    @property
    def words(self) -> str:
        return f"The {self.what} is stated as {self.stated}; its parents give {mixture_label(self.derived)}."


def derive_lineages(
    trees: Mapping[Hashable, TreeFacts],
    pools: Mapping[Hashable, PollenPool] | None = None,
    outside_donor_share: Mapping[str, Fraction] | None = None,
) -> tuple[dict[Hashable, TreeLineage], list[Contradiction]]:
    """Lineage of every tree, and the statements that its parents contradict.

    Parameters
    ----------
    trees : mapping of tree to TreeFacts
        A parent or pool that is named but not among them counts as unknown.
    pools : mapping of pool to PollenPool
        Fathers of the trees that name one. Members are trees.
    outside_donor_share : mapping of the label of outside pollen to Fraction
        Its share of donor species: 0 for a native one. Left out where it is not known.

    Returns
    -------
    (lineages, contradictions)
        A tree on a circle of parents, or below one, has only what it states.

    Notes
    -----
    *Source*: a statement opens it there. Otherwise the mixture of what both parents carry, each weighted by its expected donor share; a
    parent without donor ancestry and without a statement carries none. If the donor share of one that carries some is not known, or
    is 0 in spite of a statement, all count alike.
    *Line*: a statement opens it there. Otherwise a cross with a pure native parent takes that parent's line; if the native parent states
    none, the other's; any other cross the mean of both. Two native parents: the mean of those that state one.
    An unknown parent, and one that states nothing, counts as `NOT_STATED`.
    *Statements* that contradict the parents count and are reported.
    Time and memory grow with the trees and the members of pools; nothing recurses.

    Source
    ------
    Common practice, no source.

    Examples
    --------
    >>> trees = {
    ...     "J": TreeFacts(donor_share=Fraction(1)), "N": TreeFacts(donor_share=Fraction(0), line="L1"),
    ...     "F1": TreeFacts("N", "J", source="Heron"), "M": TreeFacts(donor_share=Fraction(0), line="L2"), "B1": TreeFacts("M", "F1"),
    ... }
    >>> lineage = derive_lineages(trees)[0]["B1"]
    >>> lineage.source, lineage.line, lineage.donor_share
    ({'Heron': Fraction(1, 1)}, {'L2': Fraction(1, 1)}, Fraction(1, 4))
    """
    return _Derivation(trees, pools or {}, outside_donor_share or {}).run()


_UNKNOWN_PARENT = TreeLineage(SILENT, SILENT, None)


class _PoolNode(NamedTuple):
    """A pool in the order of derivation; distinct from a tree of the same key."""

    pool: Hashable


class _PoolSums(NamedTuple):
    """The members of a pool, those alike in what matters summed once: {key: [weight, …]}; and the weight of each member."""

    sources: dict  # weight, source, donor share
    lines: dict  # weight, line, whether native
    own: dict


class _Derivation:
    def __init__(self, trees, pools, outside_donor_share):
        self.trees, self.pools = trees, pools
        self.found, self.contradictions, self.sums = {}, [], {}
        self.shared = {frozenset(SILENT.items()): SILENT}  # content: the one dict that has it
        self.outside = {label: TreeLineage(self._keep({}), SILENT, share) for label, share in outside_donor_share.items()}

    def run(self):
        order = TopologicalSorter(self._graph())
        with suppress(CycleError):  # trees outside the loop are still sorted
            order.prepare()
        while ready := order.get_ready():
            for node in ready:
                if isinstance(node, _PoolNode):
                    self._sum(node.pool)
                else:
                    self._tree(node)
            order.done(*ready)
        for tree in self.trees.keys() - self.found.keys():
            self.found[tree] = self._stated(self.trees[tree], _UNKNOWN_PARENT)
        return {tree: self.found[tree] for tree in self.trees}, self.contradictions

    def _graph(self):
        graph = {}
        for tree, facts in self.trees.items():
            graph[tree] = [parent for parent in (facts.mother, facts.father) if parent in self.trees]
            if facts.pool in self.pools:
                graph[tree].append(_PoolNode(facts.pool))
        for pool, content in self.pools.items():
            graph[_PoolNode(pool)] = [member for member, _ in content.members if member in self.trees]
        return graph

    def _tree(self, tree):
        facts = self.trees[tree]
        derived = self._derived(facts)
        self.found[tree] = self._stated(facts, derived)
        pairs = (("source of resistance", facts.source, derived.source), ("recurrent line", facts.line, derived.line))
        for what, stated, mixture in pairs:
            given = set(mixture) - {NOT_STATED}
            if stated.strip() and given and given != {stated.strip()}:
                self.contradictions.append(Contradiction(tree, what, stated.strip(), mixture))

    def _stated(self, facts, derived):
        source, line = facts.source.strip(), facts.line.strip()
        donor = derived.donor_share if facts.donor_share is None else facts.donor_share
        if source:
            mixture = self._keep({source: Fraction(1)})
        else:
            mixture = self._keep({}) if donor == 0 and derived.source is SILENT else derived.source
        return TreeLineage(mixture, self._keep({line: Fraction(1)}) if line else derived.line, donor)

    def _derived(self, facts):
        if facts.mother is None and facts.father is None and facts.pool is None:
            return _UNKNOWN_PARENT
        mother = self.found.get(facts.mother, _UNKNOWN_PARENT)
        if facts.pool in self.sums:
            weight, sources, lines = self._pool_parts(facts, mother)
        else:
            father = self.found.get(facts.father, _UNKNOWN_PARENT)
            weight, sources, lines = 1, [_source_part(1, father)], [_line_part(1, father)]
        sources = [_source_part(weight, mother), *sources]
        donor = None
        if all(share is not None for _, _, share in sources):
            donor = sum(part * share for part, _, share in sources) / (2 * Fraction(weight))
        return TreeLineage(self._source(sources), self._line(mother, lines), donor)

    def _sum(self, pool):
        sources, lines, own = {}, {}, {}
        for member, weight in self.pools[pool].members:
            own[member] = 1 if weight is None else weight
            lineage = self.found.get(member, _UNKNOWN_PARENT)
            for sums, part in ((sources, _source_part(own[member], lineage)), (lines, _line_part(own[member], lineage))):
                sums.setdefault(_key(part), [0, *part[1:]])[0] += own[member]
        self.sums[pool] = _PoolSums(sources, lines, own)

    def _pool_parts(self, facts, mother):
        """(weight of the whole seed, parts of source, parts of line) of the expected father, in the unit of the members' weights."""
        pool, sums = self.pools[facts.pool], self.sums[facts.pool]
        own = sums.own.get(facts.mother, 0)  # her own pollen counts through the selfing share only
        others = sum(sums.own.values()) - own
        rest = 1 - pool.selfing_share - pool.outside_share
        whole = others / Fraction(rest) if others and rest else Fraction(1)
        fathers = [(whole * pool.selfing_share, mother)]
        fathers.append((whole * pool.outside_share, self.outside.get(pool.outside_label, _UNKNOWN_PARENT)))
        if not others:
            fathers.append((whole * rest, _UNKNOWN_PARENT))
        parts = []
        for members, make in ((sums.sources, _source_part), (sums.lines, _line_part)):
            mothers = _key(make(own, mother))
            found = [make(weight, lineage) for weight, lineage in fathers if weight]
            if others and rest:
                found += [(weight - own if key == mothers else weight, *rest_of) for key, (weight, *rest_of) in members.items()]
            parts.append([part for part in found if part[0]])
        return whole, *parts

    def _source(self, parts):
        carrying = [(weight, source, donor) for weight, source, donor in parts if source or donor != 0]
        if not carrying:
            return self._keep({})
        first = carrying[0][1]
        if all(source is first for _, source, _ in carrying):
            return first or SILENT
        if all(donor for _, _, donor in carrying):
            carrying = [(weight * donor, source, donor) for weight, source, donor in carrying]
        return self._keep(blended_labels([(source, weight) for weight, source, _ in carrying]))

    def _line(self, mother, fathers):
        sums = {}
        for weight, line, native in fathers:
            lines = _lines_of_cross(mother.line, mother.donor_share == 0, line, native)
            for part in lines:
                sums.setdefault(id(part), [part, 0])[1] += 2 * weight if len(lines) == 1 else weight
        if len(sums) == 1:
            return next(iter(sums.values()))[0]
        return self._keep(blended_labels(list(sums.values())))

    def _keep(self, mixture):
        """The one dict of this content: equal mixtures are the same object, compared by identity."""
        return self.shared.setdefault(frozenset(mixture.items()), mixture)


def _source_part(weight, lineage):
    return weight, lineage.source, lineage.donor_share


def _line_part(weight, lineage):
    return weight, lineage.line, lineage.donor_share == 0


def _key(part):
    return id(part[1]), part[2]


def _lines_of_cross(mother, mother_native, father, father_native):
    """The line, or the two lines, that a cross takes."""
    if mother_native != father_native:
        native, other = (mother, father) if mother_native else (father, mother)
        return [other if native is SILENT else native]
    lines = [mother, father]
    if mother_native:
        lines = [line for line in lines if line is not SILENT] or lines
    return lines[:1] if lines[0] is lines[-1] else lines
