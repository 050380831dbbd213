"""Reads about a tree of the pedigree: its maternal line, its children, its expected share."""

from django.db.models import Q

from registry.calc.pedigree.generation import expected_native_share
from registry.models import PedigreeTree
from registry.selectors.pedigree.numbers import ASSUMED_WORDS, expected_donor_shares

__all__ = ["maternal_line", "tree_children", "tree_share_words", "tree_year_flags", "years_out_of_order"]

_LINE_MAX = 8


def maternal_line(tree):
    """Mother, mother's mother and so on, the oldest first; a loop ends where it began."""
    line, seen = [], {tree.pk}
    while tree.mother_id and tree.mother_id not in seen and len(line) < _LINE_MAX:
        tree = PedigreeTree.objects.get(pk=tree.mother_id)
        seen.add(tree.pk)
        line.append(tree)
    return line[::-1]


def tree_children(tree):
    """The trees that have this tree as mother or father."""
    return PedigreeTree.objects.filter(Q(mother=tree) | Q(father=tree))


def tree_share_words(tree):
    """The expected native share by the pedigree, or else by the generation, in words that promise nothing about one tree."""
    donor = expected_donor_shares([tree.pk], []).get(("tree", tree.pk))
    if donor is not None:
        return f"{1 - donor.share} on average, by its pedigree{f'; {ASSUMED_WORDS}' if donor.assumed else ''}"
    share = expected_native_share(tree.generation) if tree.generation else None
    if share is None:
        return ""
    if tree.generation.code in ("native", "donor"):
        return f"{share}: a {tree.generation.code} tree, by its pedigree"
    return f"averages {share} as a generation, not as a tree"


def tree_year_flags(tree):
    """What is odd about the years of a tree and its parents, in sentences."""
    parents = [(role, parent.code, parent.planted_year) for role, parent in (("mother", tree.mother), ("father", tree.father)) if parent]
    pool = tree.pollen_pool
    words = years_out_of_order(tree.planted_year, parents, (pool.code, pool.flowering_year) if pool else None)
    return [f"Its planting year {tree.planted_year} {line}." for line in words]


def years_out_of_order(planted_year, parents, pool=None):
    """Where a tree would be as old as a parent, or older: the end of a sentence that begins with its planting year.

    Parameters
    ----------
    planted_year : int or None
    parents : iterable of (role, code, planted year or None)
    pool : (code, flowering year) or None
    """
    if planted_year is None:
        return []
    found = [
        f"is not after {year}, when its {role} {code} was planted; look at both years, or at the parent"
        for role, code, year in parents
        if year is not None and year >= planted_year
    ]
    if pool and pool[1] >= planted_year:
        found.append(f"is not after {pool[1]}, when pollen pool {pool[0]} flowered; look at both years, or at the pool")
    return found
