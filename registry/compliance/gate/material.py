"""Trees, pollen pools and lots as plain values, in the order of descent, and the species that hybrids among them come from."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from registry.compliance.shared.taxa import is_hybrid, unknown_parent

Key = tuple[str, str]  # tree, pool or lot, and its code


@dataclass(frozen=True, slots=True)
class Own:
    """What is known of a tree or lot itself.

    Parameters
    ----------
    taxa : tuple of str
    parent_taxa : tuple of str
        Species that a hybrid among `taxa` descends from, as far as they are known.
    shares : mapping of taxon to Fraction
        Expected shares, exact, where they were computed; they add to what follows from the parents and never reduce it.
    is_engineered, has_pathogen : bool
    declared : tuple of str
        Codes of the classes declared by hand.
    """

    taxa: tuple[str, ...] = ()
    shares: Mapping[str, Fraction] = field(default_factory=dict)
    is_engineered: bool = False
    has_pathogen: bool = False
    declared: tuple[str, ...] = ()
    parent_taxa: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Tree:
    """A tree of the pedigree: “” for a parent that is not known; a father or a pollen pool."""

    mother: str = ""
    father: str = ""
    pool: str = ""
    own: Own = Own()


@dataclass(frozen=True, slots=True)
class Pool:
    """A pollen pool: the trees that flowered, and the outside share.

    `outside_share` None: not declared. `outside_may` are the classes that pollen from outside is declared to carry perhaps, and
    `outside_taxa` what it counts as.
    """

    members: tuple[str, ...] = ()
    outside_share: Fraction | None = None
    outside_may: tuple[str, ...] = ()
    outside_taxa: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot: harvested (mother, father or pool), raised from `parent`, or a bulk of `components`."""

    mother: str = ""
    father: str = ""
    pool: str = ""
    parent: str = ""
    components: tuple[str, ...] = ()
    own: Own = Own()


class Descent:
    """Trees, pools and lots by key, what each comes from, and all of them in an order in which sources come first.

    Raises
    ------
    ValueError
        When something that is named is not there, or something descends from itself.
    """

    def __init__(self, trees: Mapping[str, Tree], pools: Mapping[str, Pool], lots: Mapping[str, Lot]) -> None:
        self.nodes: dict[Key, Tree | Pool | Lot] = {("tree", code): tree for code, tree in trees.items()}
        self.nodes |= {("pool", code): pool for code, pool in pools.items()}
        self.nodes |= {("lot", code): lot for code, lot in lots.items()}
        self.links = {key: _links_of(node) for key, node in self.nodes.items()}
        self.order = list(_sources_first(self.links))

    def parent_taxa(self) -> dict[Key, tuple[str, ...]]:
        """For each hybrid the names of the species it descends from: those stated, and those of its parents.

        A parent that is not known is named by the genus, so that it may be any species of it; see `unknown_parent`. Nothing at all is
        known of a hybrid that is absent here.
        """
        species: dict[Key, frozenset[str]] = {}
        found: dict[Key, tuple[str, ...]] = {}
        for key in self.order:
            node = self.nodes[key]
            above = frozenset().union(*(species[link] for link in self.links[key]))
            if isinstance(node, Pool):
                species[key] = above | (frozenset(node.outside_taxa) if node.outside_share != 0 else frozenset())
                continue
            hybrids = [taxon for taxon in node.own.taxa if node.own.parent_taxa or is_hybrid(taxon)]
            if not hybrids:
                species[key] = frozenset(node.own.taxa) or above
                continue
            names = above | frozenset(node.own.parent_taxa)
            if names and not node.own.parent_taxa and not self._both_known(node):
                names |= {unknown_parent(taxon) for taxon in hybrids}
            if names:
                found[key] = tuple(sorted(names))
            species[key] = names or frozenset(hybrids)
        return found

    def _both_known(self, node: Tree | Lot) -> bool:
        """Whether all that a hybrid comes from is on file."""
        if isinstance(node, Lot) and (node.parent or node.components):
            return True
        pool = self.nodes.get(("pool", node.pool)) if node.pool else None
        from_outside = isinstance(pool, Pool) and pool.outside_share != 0 and not pool.outside_taxa
        return bool(node.mother and (node.father or node.pool)) and not from_outside


def _links_of(node: Tree | Pool | Lot) -> list[tuple[str, str]]:
    if isinstance(node, Pool):
        return [("tree", member) for member in node.members]
    links = [("tree", code) for code in (node.mother, node.father) if code] + ([("pool", node.pool)] if node.pool else [])
    if isinstance(node, Lot):
        links += [("lot", code) for code in (node.parent, *node.components) if code]
    return links


def _sources_first(links: Mapping[tuple[str, str], list[tuple[str, str]]]) -> Iterable[tuple[str, str]]:
    children: defaultdict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    waiting_for = {}
    for key, sources in links.items():
        for source in sources:
            if source not in links:
                raise ValueError(
                    f"{key[0].capitalize()} {key[1]} names {source[0]} {source[1]}, which is not there. Add it or correct the name."
                )
            children[source].append(key)
        waiting_for[key] = len(sources)
    ready = [key for key, count in waiting_for.items() if not count]
    order = []
    while ready:
        key = ready.pop()
        order.append(key)
        for child in children[key]:
            waiting_for[child] -= 1
            if not waiting_for[child]:
                ready.append(child)
    if len(order) < len(links):
        kind, code = min(links.keys() - set(order))
        raise ValueError(f"{kind.capitalize()} {code} descends from itself, or from something that does. Correct the parents.")
    return order
