"""The layers: who may import whom. Read from the source, so that a forbidden import is found even where no test runs it."""

import ast
import subprocess
import sys

import pytest

from tests.places import PROJECT

APPS = ("registry", "plantings")
PURE = (
    "registry/calc", "registry/compliance", "registry/prints", "registry/access/roles.py", "plantings/calc", "plantings/maps",
    "plantings/imports/demo/programme",
)  # fmt: skip
# Every folder of either package and every module beside them, lowest first. A module may import its own layer and those before it.
LAYERS = (
    ("choices", "access", "calc", "compliance", "prints", "maps", "boundaries", "disk"),
    ("models",),
    ("selectors",),
    ("services",),
    ("forms", "imports", "exports"),
    ("templatetags", "views", "routes", "management", "migrations"),
)
RANK = {name: rank for rank, layer in enumerate(LAYERS) for name in layer}
# Files and folders that need no rank: Django's own start-up, and what holds no Python.
UNRANKED = {
    "__init__",
    "apps",
    "bootstrap",
    "locale",
    "middleware",
    "requirements",  # the exact versions that are installed
    "server",
    "settings",
    "system_checks",
    "urls",
    "worker",
    "wsgi",
    "static",
    "templates",
    "__pycache__",
}
# A layer of more than about fifteen files has one folder per subject. Models stay flat: one file per subject, re-exported.
FILES_PER_FOLDER_MAX = 17
SUBJECTS = {
    "api",
    "arrival", "audit", "census", "combined", "demo", "duties", "field_form", "gate", "growth", "identity", "jobs", "land", "lifetimes", "fits", "lineages", "loads", "lots", "movements", "orchard", "overview", "pedigree", "people", "phone",
    "permit_file", "permits", "plantings", "prints", "reports", "safety", "shared", "sheets", "sites", "survival", "tree_lists",
}  # fmt: skip
HEAVY = ("pandas", "geopandas", "folium", "scipy", "reportlab", "matplotlib", "shapely", "pyproj", "pyogrio", "openpyxl", "statsmodels")


def sources(*places):
    for place in places:
        path = PROJECT / place
        yield from [path] if path.suffix else sorted(path.rglob("*.py"))


def imported(path):
    """Dotted names a file imports anywhere in it, relative ones resolved."""
    package = path.relative_to(PROJECT).parts[:-1]
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
    monkeypatch.setattr(sys.modules[__name__], "PROJECT", tmp_path)
    path = tmp_path / "plantings" / "calc" / "fate.py"
    path.parent.mkdir(parents=True)
    path.write_text("import a.b\nfrom . import walk\nfrom ..models import Tree\ndef f():\n    from registry import models\n")
    assert list(imported(path)) == ["a.b", "plantings.calc.walk", "plantings.models.Tree", "registry.models"]


@pytest.mark.parametrize("place", PURE)
def test_pure_packages_import_only_pure_packages(place):
    wrong = [
        f"{path.relative_to(PROJECT)} imports {name}"
        for path in sources(place)
        for name in imported(path)
        if name.split(".")[0] in {"django", "import_export"} or (name.split(".")[0] in APPS and not is_pure(name))
    ]
    assert wrong == []


def test_pure_packages_read_no_clock():
    wrong = [
        f"{path.relative_to(PROJECT)}, line {node.lineno}"
        for path in sources(*PURE)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in {"today", "now", "utcnow", "time_ns", "localtime", "perf_counter"}
    ]
    assert wrong == []


def test_registry_never_imports_plantings():
    wrong = [
        f"{path.relative_to(PROJECT)} imports {name}"
        for path in sources("registry")
        for name in imported(path)
        if name.split(".")[0] == "plantings"
    ]
    assert wrong == []


def test_no_layer_imports_a_layer_above_it():
    wrong = []
    for path in sources(*APPS):
        own = layer(path.relative_to(PROJECT).parts)
        if own is not None:
            wrong += [f"{path.relative_to(PROJECT)} imports {name}" for name in imported(path) if (layer(name.split(".")) or 0) > own]
    assert wrong == []


def test_every_folder_and_module_of_both_packages_has_a_rank():
    # a folder that an older version left behind holds compiled files only
    found = [
        path for app in APPS for path in (PROJECT / app).iterdir() if path.is_file() or any(path.glob("[!_]*")) or any(path.glob("*.py"))
    ]
    names = {path.stem for path in found}
    assert names - set(RANK) - UNRANKED == set()


def test_folders_inside_a_layer_are_subjects():
    layers = [PROJECT / app / name for app in APPS for name in RANK if (PROJECT / app / name).is_dir()]
    folders = {path.name for place in layers for path in place.iterdir() if (path / "__init__.py").is_file()}
    assert folders - {"commands"} <= SUBJECTS


def test_no_folder_holds_more_files_than_a_reader_can_scan():
    counts = {}
    for path in sources(*APPS):
        if path.name != "__init__.py" and "migrations" not in path.parts:
            counts[path.parent] = counts.get(path.parent, 0) + 1
    assert {str(place.relative_to(PROJECT)): count for place, count in counts.items() if count > FILES_PER_FOLDER_MAX} == {}


def test_packages_that_load_without_django_have_empty_init_files():
    packages = ("registry", "plantings", "registry/access", "registry/calc", "plantings/calc", "plantings/maps")
    assert [place for place in packages if (PROJECT / place / "__init__.py").read_text().strip()] == []


def test_starting_the_site_loads_no_heavy_library():
    # each of these costs every server process 0.5–1.5 s and 70–100 MB; measured before the project began
    code = "import sys, registry.wsgi, registry.urls; print(*sorted(set(sys.argv[1:]) & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code, *HEAVY], cwd=PROJECT, capture_output=True, text=True, check=True)
    assert done.stdout.split() == []
