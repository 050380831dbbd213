"""Material classes that follow the pedigree: which trees, pools and lots are what the rules are about, for certain or perhaps."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from registry.compliance.gate.material import Descent, Key, Lot, Own, Pool, Tree
from registry.compliance.gate.places import NO, YES
from registry.compliance.shared.taxa import named

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
        Of the donors, or the listed taxa, compared by `taxa.named`.
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
    >>> from fractions import Fraction
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
    descent = Descent(trees, pools, lots)
    parent_taxa = descent.parent_taxa() if any(rule.by == TAXON for rule in rules) else {}
    told = _Teller(rules, bit_of)
    found: dict[Key, tuple[int, int]] = {}
    for key in descent.order:
        node = descent.nodes[key]
        if isinstance(node, Pool):
            found[key] = _of_pool(node, found, told)
            continue
        certain, may = told.of(node.own, parent_taxa.get(key, ()), key)
        for link in descent.links[key]:
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


def _of_pool(pool: Pool, found: Mapping[Key, tuple[int, int]], told: "_Teller") -> tuple[int, int]:
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
        self._of_taxa: dict[tuple[tuple[str, ...], ...], tuple[int, int]] = {}

    def of(self, own: Own, parent_taxa: tuple[str, ...], key: Key) -> tuple[int, int]:
        """(classes it has for certain, classes it may have by its name)."""
        names = own.taxa, own.parent_taxa, parent_taxa
        if names not in self._of_taxa:
            # donor ancestry follows the pedigree anyway, exactly and through pools
            found = [
                (self._bit_of[rule.code], named(rule.taxa, own.taxa, parent_taxa if rule.by == TAXON else own.parent_taxa))
                for rule in self._by_taxa
            ]
            self._of_taxa[names] = sum(bit for bit, how in found if how == YES), sum(bit for bit, how in found if how not in (YES, NO))
        bits, may = self._of_taxa[names]
        bits |= self._engineered if own.is_engineered else 0
        bits |= self._pathogen if own.has_pathogen else 0
        for rule in self._by_share if own.shares else ():
            if any(share > 0 and named(rule.taxa, (taxon,)) == YES for taxon, share in own.shares.items()):
                bits |= self._bit_of[rule.code]
        return bits | self.declared(own.declared, f"{key[0]} {key[1]}"), may

    def declared(self, codes: Iterable[str], where: str) -> int:
        bits = 0
        for code in codes:
            if code not in self._bit_of:
                raise ValueError(f"Class {code}, declared of {where}, has no rule. Add the class or correct its code.")
            bits |= self._bit_of[code]
        return bits
