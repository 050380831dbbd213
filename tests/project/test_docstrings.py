"""What a docstring of the pure packages must say: types, units, errors, and where a number or a rule comes from."""

import ast
import re
from collections import defaultdict
from functools import cache

import pytest

from tests.places import PROJECT

PLACES = ("registry/calc", "registry/compliance", "plantings/calc")
NUMBERS = re.compile(r"\b(int|float|Fraction|Decimal|ndarray)\b")
SOURCE_SAID = re.compile(
    r"\b(1[89]\d\d|20\d\d)\b"  # author and year, or the edition of a standard
    r"|\b(chapter|ch\.|page|CFR|RFC|ISO|FIPS)\s"
    r"|no source|definition of this programme|from memory",
    re.IGNORECASE,
)


def sections(docstring):
    """{heading: text} of a numpydoc docstring; "" is what comes before the first heading. A heading may name several sections."""
    found, names, lines = {"": ""}, [""], docstring.split("\n")
    for number, line in enumerate(lines):
        if set(line) == {"-"} and number:
            continue
        if number + 1 < len(lines) and line.strip() and set(lines[number + 1]) == {"-"}:
            names = line.split(", ")
            continue
        for name in names:
            found[name] = f"{found.get(name, '')}{line}\n"
    return found


def parameters(function):
    arguments = function.args
    every = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs]
    return every + [one for one in (arguments.vararg, arguments.kwarg) if one]


def raising(tree):
    """Names of the module's functions that raise, themselves or through another function of the module."""
    functions = {node.name: node for node in tree.body if isinstance(node, ast.FunctionDef)}
    names = {name for name, node in functions.items() if any(isinstance(inner, ast.Raise) for inner in ast.walk(node))}
    while True:
        called = {
            name
            for name, node in functions.items()
            if names & {inner.func.id for inner in ast.walk(node) if isinstance(inner, ast.Call) and isinstance(inner.func, ast.Name)}
        }
        if called <= names:
            return names
        names |= called


def said_sources(tree):
    """{name of a function or class of a module: its Source, that of the module where it has none}."""
    module_source = sections(ast.get_docstring(tree) or "").get("Source", "")
    named = [node for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef)]
    return {node.name: sections(ast.get_docstring(node) or "").get("Source", "") or module_source for node in named}


def names_with_source(said):
    """Of {name: [its Source in each module that has the name]}, the names that say one, themselves or by naming such a name."""
    found = set()
    while True:
        more = {name for name, texts in said.items() if all(says_source(text, found) for text in texts)}
        if more == found:
            return found
        found = more


def says_source(text, with_source):
    return bool(SOURCE_SAID.search(text)) or not with_source.isdisjoint(re.findall(r"`(\w+)`", text))


@cache
def project_names_with_source():
    said = defaultdict(list)
    for path in files():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        said[path.stem].append(sections(ast.get_docstring(tree) or "").get("Source", ""))
        for name, text in said_sources(tree).items():
            said[name].append(text)
    return names_with_source(said)


def lacks(source, with_source=frozenset()):
    """{name of a public function: what its docstring lacks}. `with_source` are names that a Source may refer to."""
    tree = ast.parse(source)
    module_source, raises = sections(ast.get_docstring(tree) or "").get("Source", ""), raising(tree)
    found = {}
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
            continue
        said = sections(ast.get_docstring(node) or "")
        described = said.get("Parameters", "")
        missing = [] if said[""].strip() else ["docstring"]
        missing += [f"type of {one.arg}" for one in parameters(node) if one.annotation is None]
        missing += ["type of the result"] if node.returns is None else []
        for one in parameters(node):
            is_number = one.annotation is not None and NUMBERS.search(ast.unparse(one.annotation))
            if is_number and not described.strip().startswith("As `") and not re.search(rf"\b{one.arg}\b", described):
                missing.append(f"unit or range of {one.arg}")
        if node.returns is not None and NUMBERS.search(ast.unparse(node.returns)) and not said.get("Returns", "").strip():
            missing.append("unit or range of the result")
        if node.name in raises and not said.get("Raises", "").strip():
            missing.append("errors")
        if not says_source(said.get("Source", "") or module_source, with_source):
            missing.append("source")
        if missing:
            found[node.name] = ", ".join(missing)
    return found


def files():
    return [path for place in PLACES for path in sorted((PROJECT / place).rglob("*.py")) if path.name != "__init__.py"]


@pytest.mark.parametrize("path", files(), ids=lambda path: str(path.relative_to(PROJECT)))
def test_public_functions_say_types_units_errors_and_source(path):
    assert lacks(path.read_text(encoding="utf-8"), project_names_with_source()) == {}


@pytest.mark.parametrize("path", files(), ids=lambda path: str(path.relative_to(PROJECT)))
def test_public_records_say_what_they_hold(path):
    classes = [node for node in ast.parse(path.read_text(encoding="utf-8")).body if isinstance(node, ast.ClassDef)]
    assert [node.name for node in classes if not node.name.startswith("_") and not ast.get_docstring(node)] == []


WHOLE = '''
def _check(mass_g):
    raise ValueError("The mass is below 0.")


def mass_share(mass_g: float) -> float:
    """A share.

    Parameters
    ----------
    mass_g : float, gram

    Returns
    -------
    float, 0 to 1

    Raises
    ------
    ValueError
        When the mass is below 0.

    Source
    ------
    Common practice, no source.
    """
    _check(mass_g)
    return mass_g / 2
'''


@pytest.mark.parametrize(
    ("without", "missing"),
    [
        ("mass_g : float, gram", "unit or range of mass_g"),
        ("float, 0 to 1", "unit or range of the result"),
        (": float) -> float", "type of mass_g, type of the result"),
        ("ValueError\n        When the mass is below 0.\n", "errors"),
        ("Common practice, no source.", "source"),
    ],
)
def test_what_a_docstring_lacks_is_found(without, missing):
    assert lacks(WHOLE) == {}
    assert lacks(WHOLE.replace(without, ")" if without.startswith(":") else "")) == {"mass_share": missing}


def test_a_module_may_name_the_source_once_for_all_its_functions():
    function = 'def words(code: str) -> str:\n    """A code in words."""\n    return code\n'
    assert lacks(function) == {"words": "source"}
    assert lacks(f'"""Words.\n\nSource\n------\nDefinition of this programme.\n"""\n\n{function}') == {}


def test_only_a_name_that_has_a_source_is_a_source():
    function = 'def words(code: str) -> str:\n    """A code.\n\n    Source\n    ------\n    As of `other`.\n    """\n    return code\n'
    assert lacks(function) == {"words": "source"}
    assert lacks(function, names_with_source({"other": [""]})) == {"words": "source"}
    assert lacks(function, names_with_source({"other": ["As of `third`."], "third": ["As of `other`."]})) == {"words": "source"}
    assert lacks(function, names_with_source({"other": ["As of `third`."], "third": ["Wilson 1927."]})) == {}
