"""Reads about a tree of the pedigree: its maternal line, its children, its expected share."""

from django.db.models import Q

from registry.calc.generation import expected_native_share
from registry.models import PedigreeTree

__all__ = ["maternal_line", "tree_children", "tree_share_words"]

_LINE_MAX = 8


def maternal_line(tree):
    """Mother, mother's mother and so on, the oldest first; a circle ends where it closes."""
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
    """The expected native share of a generation, in words that promise nothing about one tree."""
    share = expected_native_share(tree.generation) if tree.generation else None
    if share is None:
        return ""
    if tree.generation.code in ("native", "donor"):
        return f"{share}: a {tree.generation.code} tree, by its pedigree"
    return f"averages {share} as a generation, not as a tree"
