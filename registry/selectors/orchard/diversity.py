"""How much diversity a group of trees, or a crop of seed, holds by its pedigree."""

from collections import defaultdict
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction

from registry.calc.orchard.crops import CropDiversity, crop_diversity, crop_genes, crop_of_coancestry
from registry.calc.orchard.diversity_floor import coancestry_of_genes
from registry.calc.orchard.pollen_pool import ExpectedFather, expected_father
from registry.calc.pedigree.ancestry import only_ancestors
from registry.calc.pedigree.expected_shares import UNKNOWN
from registry.calc.pedigree.inbreeding import coancestry_matrix, inbreeding
from registry.calc.pedigree.relationship import effective_number, group_coancestry, least_coancestry_contributions
from registry.calc.shared.screen import amount_words, unit_words
from registry.models import Lot, PedigreeTree
from registry.selectors.identity.descent import linked
from registry.selectors.pedigree.numbers import ancestor_pedigree, coancestry_through_pools, harvest_parts
from registry.selectors.pedigree.tree_facts import pool_facts, pool_rows

__all__ = ["MATRIX_MAX", "GroupDiversity", "crop_of_lot", "crop_of_pool", "group_diversity", "left_out_words", "tree_codes"]

MATRIX_MAX = 500  # more trees than this are summed without the matrix of all pairs


@dataclass(frozen=True, slots=True)
class GroupDiversity:
    """Diversity of trees that contribute by their weights.

    A pollen pool among the ancestors counts as its expected father, unless `pools_unrelated` says that there were too many trees for it.
    `best` is [(tree, contribution)] that would make the group coancestry least, with `best_status_number`; empty for large groups.
    `half_known` counts trees with a parent that is not a tree on record. `crop` is that of the seed, with its fathers; `outside` the share
    of pollen that is not from a tree on record. `problem` says why nothing could be calculated.
    """

    trees: int
    status_number: float = 0.0
    group_coancestry: float = 0.0
    effective_number: float = 0.0
    inbreeding: float = 0.0
    half_known: int = 0
    best: tuple = ()
    best_status_number: float = 0.0
    crop: CropDiversity | None = None
    outside: float = 0.0
    problem: str = ""
    pools_unrelated: bool = False


def group_diversity(weights, father=None):
    """GroupDiversity of {tree key: weight}; with the ExpectedFather of their seed, that of the crop too.

    A query for each generation of ancestors, whatever the number of trees.
    """
    weights = {tree: Fraction(weight) for tree, weight in weights.items() if weight}
    if not weights:
        return GroupDiversity(0, problem="There is no tree to calculate with.")
    keys = list(dict.fromkeys([*weights, *(father.trees if father else ())]))
    try:
        pedigree, has_pools = ancestor_pedigree(keys)
    except ValueError as error:
        return GroupDiversity(len(weights), problem=f"The pedigree has a loop: {error}")
    return _calculated(pedigree, has_pools, weights, keys, father)


def _calculated(pedigree, has_pools, weights, keys, father):
    names = [str(tree) for tree in weights]
    total = sum(weights.values())
    shares = [float(weight / total) for weight in weights.values()]
    small = len(keys) <= MATRIX_MAX
    through_pools = coancestry_through_pools(keys) if small else None
    if through_pools:
        matrix, half_known = through_pools
        coefficients = [2 * matrix[place, place] - 1 for place in range(len(weights))]  # the weighted trees come first
        unknown = len(half_known & weights.keys())
    else:
        places = [pedigree.position(name) for name in names]
        coefficients = inbreeding(pedigree)[places]
        unknown = sum(min(pedigree.mothers[place], pedigree.fathers[place]) < 0 for place in places)
    found = {
        "trees": len(weights),
        "effective_number": effective_number(shares),
        "inbreeding": float(sum(share * value for share, value in zip(shares, coefficients, strict=True))),
        "half_known": unknown,
        "outside": float(sum(father.outside.values())) if father else 0.0,
        "pools_unrelated": has_pools and not through_pools,
    }
    if not small:
        if father:
            genes = {str(tree): share for tree, share in crop_genes(weights, father).items()}
            found["crop"] = crop_of_coancestry(coancestry_of_genes(pedigree, genes), father)
        theta = coancestry_of_genes(pedigree, dict(zip(names, shares, strict=True)))
        return GroupDiversity(**found, status_number=1 / (2 * theta), group_coancestry=theta)
    if not through_pools:
        matrix = coancestry_matrix(only_ancestors(pedigree, [str(key) for key in keys]), [str(key) for key in keys])
    own = matrix[: len(weights), : len(weights)]
    theta = group_coancestry(own, shares)
    best = least_coancestry_contributions(own)
    if father:
        found["crop"] = crop_diversity(weights, father, keys, matrix)
    return GroupDiversity(
        **found, group_coancestry=theta, status_number=1 / (2 * theta), best=tuple(zip(weights, best, strict=True)),
        best_status_number=1 / (2 * group_coancestry(own, best)),
    )  # fmt: skip


def crop_of_lot(lot):
    """GroupDiversity of the mothers of a lot by their part of it, with that of the seed; and the share without a mother on record."""
    try:
        parts, unknown = harvest_parts(lot)
    except ValueError as error:
        return GroupDiversity(0, problem=f"The lots it was made of cannot be used in the calculation: {error}"), Fraction(0)
    weights, trees, outside = defaultdict(Fraction), defaultdict(Fraction), defaultdict(Fraction)
    pools = pool_rows({pool for _, father, pool, _ in parts if pool and not father})
    for mother, father, pool, share in parts:
        weights[mother] += share
        expected = _expected(mother, father, pools.get(pool))
        for sums, found in ((trees, expected.trees), (outside, expected.outside)):
            for name, part in found.items():
                sums[name] += share * part
    known = sum(weights.values())
    father = ExpectedFather(*({name: share / known for name, share in sums.items()} for sums in (trees, outside))) if known else None
    return group_diversity(weights, father), unknown


def crop_of_pool(pool):
    """GroupDiversity of the mothers whose lots name a pool, each counting alike, with that of their seed."""
    mothers = dict.fromkeys((mother for mother in linked(Lot.objects, "pollen_pool", [pool.pk], "mother") if mother), Fraction(1))
    row = pool_rows([pool.pk])[pool.pk]
    trees, outside = defaultdict(Fraction), defaultdict(Fraction)
    for mother in mothers:
        expected = _expected(mother, None, row)
        for sums, found in ((trees, expected.trees), (outside, expected.outside)):
            for name, part in found.items():
                sums[name] += part / len(mothers)
    return group_diversity(mothers, ExpectedFather(dict(trees), dict(outside)))


def _expected(mother, father, pool):
    if father:
        return ExpectedFather({father: Fraction(1)}, {})
    with suppress(ValueError):  # the page of the pool says what is wrong with it
        if pool:
            return expected_father(pool_facts(pool), mother)
    return ExpectedFather({}, {UNKNOWN: Fraction(1)})


def left_out_words(group):
    """Which trees of an OrchardGroup are not counted, and why: a sentence for each sort."""
    words = []
    for sort, count in group.checks.items():
        why = "is not counted, as a check or a parent" if count == 1 else "are not counted, as checks or parents"
        words.append(f"{count:,} standing {sort} {unit_words(count, 'trees')} {why}.")
    if group.gone:
        words.append(f"{amount_words(group.gone, 'trees')} rogued or dead {'is' if group.gone == 1 else 'are'} not counted.")
    return words


def tree_codes(keys):
    """{key: code} of trees."""
    return dict(linked(PedigreeTree.objects, "pk", keys, "pk", "code"))
