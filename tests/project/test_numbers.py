"""Every function that gives a number has a test of its own, and a page, print or sheet that uses it."""

import ast
import re

from tests.places import PROJECT

PLACES = ("registry/calc", "plantings/calc")
NUMBERS = re.compile(r"\b(int|float|Fraction|Decimal|ndarray)\b")
# Numbers for people who calculate in Python; no page shows them.
IN_PYTHON_ONLY = {
    "chance_of_dropping_linked", "gamete_shares", "logit_heritability", "mean_shares", "native_share_range", "progeny_shares", "selection_intensity", "share_carrying_all",
    "share_homozygous_native", "sibling_coefficient", "species_shares",
}  # fmt: skip


def python(*places):
    return [path for place in places for path in sorted((PROJECT / place).rglob("*.py"))]


def numbers():
    """Names of the public functions whose result is one or more numbers."""
    for path in python(*PLACES):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            public = isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and node.returns
            if public and NUMBERS.search(ast.unparse(node.returns)):
                yield node.name


def used(*places):
    """Names that the code of these places uses; a definition or an import alone does not count."""
    names = set()
    for path in python(*places):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names |= {node.id} if isinstance(node, ast.Name) else {node.attr} if isinstance(node, ast.Attribute) else set()
    return names


def test_every_number_has_a_test():
    assert sorted(set(numbers()) - used("tests")) == []


def test_every_number_is_used_or_known_to_be_for_python():
    assert set(numbers()) - used("registry", "plantings") == IN_PYTHON_ONLY
