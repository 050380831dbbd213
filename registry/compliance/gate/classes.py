"""Material classes that follow the pedigree: which trees, pools and lots are what the rules are about, for certain or perhaps."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from registry.compliance.gate.taxa import taxon_in

DONOR_ANCESTRY, ENGINEERED, TAXON, FORM, PATHOGEN, DECLARED = "donor_ancestry", "engineered", "taxon", "form", "pathogen", "declared"
BASES = {
    DONOR_ANCESTRY: "any expected share of a donor species",
    ENGINEERED: "descends from a regulated engineered tree",
    TAXON: "its species or genus is in the list",
    FORM: "its form is in the list",
    PATHOGEN: "live pathogen",
    DECLARED: "declared by hand for single lots",
}
ALWAYS_INHERITED = frozenset((DONOR_ANCESTRY, ENGINEERED))


@dataclass(frozen=True, slots=True)
class ClassRule:
    """How a material class is recognised.

    Parameters
    ----------
    code, title : str
    by : str
        donor_ancestry, engineered, taxon, form, pathogen or declared.
    taxa : tuple of str
        Of the donors, or the listed taxa; one word is a genus.
    forms : tuple of str
        With `by` form.
    is_inherited : bool
        Whether seed takes it over from its parents; donor ancestry and engineered always are.
    """

    code: str
    title: str
    by: str
    taxa: tuple[str, ...] = ()
    forms: tuple[str, ...] = ()
    is_inherited: bool = False


@dataclass(frozen=True, slots=True)
class Own:
    """What is known of a tree or lot itself.

    Parameters
    ----------
    taxa : tuple of str
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

    `outside_share` None: not declared. `outside_may` are the classes that pollen from outside is declared to carry perhaps.
    """

    members: tuple[str, ...] = ()
    outside_share: Fraction | None = None
    outside_may: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot: harvested (mother, father or pool), raised from `parent`, or a bulk of `components`."""

    mother: str = ""
    father: str = ""
    pool: str = ""
    parent: str = ""
    components: tuple[str, ...] = ()
    own: Own = Own()


@dataclass(frozen=True, slots=True)
class Classes:
    """Codes of classes, sorted: those it has for certain, and those it may have."""

    certain: tuple[str, ...] = ()
    may: tuple[str, ...] = ()


def material_classes(
    rules: Iterable[ClassRule], trees: Mapping[str, Tree], pools: Mapping[str, Pool], lots: Mapping[str, Lot]
) -> tuple[dict[str, Classes], dict[str, Classes]]:  # fmt: skip
    """The classes of every tree and of every lot.

    Parameters
    ----------
    rules : iterable of ClassRule
        Those by form are left to `with_form`, since a lot may leave in several forms.
    trees, pools, lots : mapping of code to Tree, Pool, Lot

    Returns
    -------
    (classes of trees, classes of lots), each a dict of code to Classes

    Raises
    ------
    ValueError
        When two rules have one code, a rule goes by something unknown, a tree, pool or lot that is named is not there,
        a declared class has no rule, or something descends from itself.

    Notes
    -----
    Seed takes over the inherited classes of its mother and father. A pool hands on for certain what all of its
    trees have, if nothing comes from outside (a declared share of 0), and perhaps what any of them has or what its
    outside pollen is declared to carry. A lot raised from another, and a bulk with any such component, have every
    class of it, inherited or not. The time taken grows in step with trees, members of pools and components.

    Source
    ------
    Common practice, no source: the regulated status of an engineered parent is taken to reach every descendant.

    Examples
    --------
    >>> rules = [ClassRule("GE", "engineered", "engineered")]
    >>> trees = {"A": Tree(own=Own(is_engineered=True)), "B": Tree(), "C": Tree(mother="B", pool="P")}
    >>> material_classes(rules, trees, {"P": Pool(("A", "B"), Fraction(0))}, {"S1": Lot(mother="A")})[1]["S1"]
    Classes(certain=('GE',), may=())
    >>> material_classes(rules, trees, {"P": Pool(("A", "B"), Fraction(0))}, {})[0]["C"]
    Classes(certain=(), may=('GE',))
    """
    rules = list(rules)
    bit_of = _bits(rules)
    inherited = sum(bit_of[rule.code] for rule in rules if rule.is_inherited or rule.by in ALWAYS_INHERITED)
    nodes = {("tree", code): tree for code, tree in trees.items()}
    nodes |= {("pool", code): pool for code, pool in pools.items()}
    nodes |= {("lot", code): lot for code, lot in lots.items()}
    links = {key: _links(node) for key, node in nodes.items()}
    told = _Teller(rules, bit_of)
    found: dict[tuple[str, str], tuple[int, int]] = {}
    for key in _sources_first(links):
        node = nodes[key]
        if isinstance(node, Pool):
            found[key] = _of_pool(node, found, told)
            continue
        certain, may = told.of(node.own, key), 0
        for link in links[key]:
            mask = -1 if link[0] == "lot" else inherited
            certain |= found[link][0] & mask
            may |= found[link][1] & mask
        found[key] = (certain, may & ~certain)
    codes = {bit: code for code, bit in bit_of.items()}
    made = {pair: Classes(*(tuple(sorted(codes[bit] for bit in codes if bit & part)) for part in pair)) for pair in set(found.values())}
    return ({code: made[found["tree", code]] for code in trees}, {code: made[found["lot", code]] for code in lots})


def with_form(rules: Iterable[ClassRule], classes: Classes, form: str) -> Classes:
    """The classes of a lot in one form: those by form are added.

    A form that is not given (“”) may be any of them.

    Source
    ------
    Definition of this programme: classes by form are its own records.

    Examples
    --------
    >>> with_form([ClassRule("POLLEN", "pollen", "form", forms=("pollen",))], Classes(("GE",)), "pollen")
    Classes(certain=('GE', 'POLLEN'), may=())
    """
    by_form = [rule for rule in rules if rule.by == FORM]
    certain = set(classes.certain) | {rule.code for rule in by_form if form and form in rule.forms}
    may = set(classes.may) | {rule.code for rule in by_form if not form}
    return Classes(tuple(sorted(certain)), tuple(sorted(may - certain)))


def _bits(rules: list[ClassRule]) -> dict[str, int]:
    bit_of: dict[str, int] = {}
    for place, rule in enumerate(rules):
        if rule.by not in BASES:
            raise ValueError(f"Class {rule.code} goes by “{rule.by}”, which is not known. Use one of {', '.join(BASES)}.")
        if rule.code in bit_of:
            raise ValueError(f"Two class rules have the code {rule.code}. Give each its own.")
        bit_of[rule.code] = 1 << place
    return bit_of


def _links(node: Tree | Pool | Lot) -> list[tuple[str, str]]:
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


def _of_pool(pool: Pool, found: Mapping[tuple[str, str], tuple[int, int]], told: "_Teller") -> tuple[int, int]:
    certain, may = -1, 0
    for member in pool.members:
        certain &= found["tree", member][0]
        may |= found["tree", member][0] | found["tree", member][1]
    if not pool.members or pool.outside_share != 0:
        certain = 0
    if pool.outside_share != 0:
        may |= told.declared(pool.outside_may, "the outside pollen of a pool")
    return certain, may & ~certain


class _Teller:
    """What follows from a tree or lot itself. Answers by taxon are cached, since a pedigree has few taxa."""

    def __init__(self, rules: list[ClassRule], bit_of: Mapping[str, int]) -> None:
        self._bit_of = bit_of
        self._by_taxa = [rule for rule in rules if rule.by in (TAXON, DONOR_ANCESTRY)]
        self._by_share = [rule for rule in rules if rule.by == DONOR_ANCESTRY]
        self._engineered, self._pathogen = (sum(bit_of[rule.code] for rule in rules if rule.by == by) for by in (ENGINEERED, PATHOGEN))
        self._of_taxa: dict[tuple[str, ...], int] = {}

    def of(self, own: Own, key: tuple[str, str]) -> int:
        if own.taxa not in self._of_taxa:
            hits = (rule for rule in self._by_taxa if any(taxon_in(taxon, rule.taxa) for taxon in own.taxa))
            self._of_taxa[own.taxa] = sum(self._bit_of[rule.code] for rule in hits)
        bits = self._of_taxa[own.taxa]
        bits |= self._engineered if own.is_engineered else 0
        bits |= self._pathogen if own.has_pathogen else 0
        for rule in self._by_share if own.shares else ():
            if any(share > 0 and taxon_in(taxon, rule.taxa) for taxon, share in own.shares.items()):
                bits |= self._bit_of[rule.code]
        return bits | self.declared(own.declared, f"{key[0]} {key[1]}")

    def declared(self, codes: Iterable[str], where: str) -> int:
        bits = 0
        for code in codes:
            if code not in self._bit_of:
                raise ValueError(f"Class {code}, declared of {where}, has no rule. Add the class or correct its code.")
            bits |= self._bit_of[code]
        return bits
