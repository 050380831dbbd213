"""The layers: who may import whom. Read from the source, so that a forbidden import is found even where no test runs it."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

BASE = Path(__file__).resolve().parents[2]
APPS = ("registry", "plantings")
PURE = ("registry/calc", "registry/compliance", "registry/papers", "registry/access/roles.py", "plantings/calc", "plantings/maps")
# a module may import its own layer and those before it
LAYERS = (("models",), ("selectors",), ("services",), ("forms", "imports", "exports"), ("views", "routes", "management"))
RANK = {name: rank for rank, layer in enumerate(LAYERS) for name in layer}
HEAVY = ("pandas", "geopandas", "folium", "scipy", "reportlab", "matplotlib", "shapely", "pyproj", "pyogrio", "openpyxl", "statsmodels")


def sources(*places):
    for place in places:
        path = BASE / place
        yield from [path] if path.suffix else sorted(path.rglob("*.py"))


def imported(path):
    """Dotted names a file imports anywhere in it, relative ones resolved."""
    package = path.relative_to(BASE).parts[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            start = package[: len(package) - node.level + 1] if node.level else ()
            module = ".".join([*start, *filter(None, [node.module])])
            yield from (f"{module}.{name.name}" for name in node.names)


def layer(parts):
    return RANK.get(parts[1].removesuffix(".py")) if len(parts) > 1 and parts[0] in APPS else None


def is_pure(name):
    places = [place.removesuffix(".py").replace("/", ".") for place in PURE]
    return any(name == place or name.startswith(f"{place}.") for place in places)


def test_the_reader_of_imports_finds_every_form_of_import(tmp_path, monkeypatch):
    monkeypatch.setattr(sys.modules[__name__], "BASE", tmp_path)
    path = tmp_path / "plantings" / "calc" / "fate.py"
    path.parent.mkdir(parents=True)
    path.write_text("import a.b\nfrom . import walk\nfrom ..models import Tree\ndef f():\n    from registry import models\n")
    assert list(imported(path)) == ["a.b", "plantings.calc.walk", "plantings.models.Tree", "registry.models"]


@pytest.mark.parametrize("place", PURE)
def test_pure_packages_import_no_django_and_nothing_of_ours_that_is_not_pure(place):
    wrong = [
        f"{path.relative_to(BASE)} imports {name}"
        for path in sources(place)
        for name in imported(path)
        if name.split(".")[0] in {"django", "import_export"} or (name.split(".")[0] in APPS and not is_pure(name))
    ]
    assert wrong == []


def test_pure_packages_read_no_clock():
    wrong = [
        f"{path.relative_to(BASE)}, line {node.lineno}"
        for path in sources(*PURE)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in {"today", "now", "utcnow", "time_ns", "localtime", "perf_counter"}
    ]
    assert wrong == []


def test_registry_never_imports_plantings():
    wrong = [
        f"{path.relative_to(BASE)} imports {name}"
        for path in sources("registry")
        for name in imported(path)
        if name.split(".")[0] == "plantings"
    ]
    assert wrong == []


def test_no_layer_imports_a_layer_above_it():
    wrong = []
    for path in sources(*APPS):
        own = layer(path.relative_to(BASE).parts)
        if own is not None:
            wrong += [f"{path.relative_to(BASE)} imports {name}" for name in imported(path) if (layer(name.split(".")) or 0) > own]
    assert wrong == []


def test_packages_that_load_without_django_have_empty_init_files():
    packages = ("registry", "plantings", "registry/access", "registry/calc", "plantings/calc", "plantings/maps")
    assert [place for place in packages if (BASE / place / "__init__.py").read_text().strip()] == []


def test_starting_the_site_loads_no_heavy_library():
    # each of these costs every server process 0.5–1.5 s and 70–100 MB; measured before the project began
    code = "import sys, registry.wsgi, registry.urls; print(*sorted(set(sys.argv[1:]) & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code, *HEAVY], cwd=BASE, capture_output=True, text=True, check=True)
    assert done.stdout.split() == []
