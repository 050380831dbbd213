"""The code is formatted and linted by one tool, with the settings of `pyproject.toml`; tests have names that can be read."""

import ast
import re
import subprocess
import sys
from collections import Counter

import pytest

from tests.places import PROJECT

NAME_LENGTH_MAX = 65
# their names are read by Django and by the web server
READ_BY_OTHERS = {"registry/settings.py", "registry/server.py", "registry/urls.py"}


@pytest.mark.parametrize("words", [["check", "."], ["format", "--check", "."]], ids=["lint", "format"])
def test_ruff_finds_nothing(words):
    done = subprocess.run([sys.executable, "-m", "ruff", *words, "--no-cache"], cwd=PROJECT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_line_is_left_for_later_and_no_check_is_silenced():
    words = ("TO" + "DO", "FIX" + "ME", "no" + "qa", "type: ig" + "nore", "pragma: no " + "cover")
    found = [
        f"{path.relative_to(PROJECT)}: {word}"
        for folder in ("registry", "plantings", "tests", "fixtures")
        for path in (PROJECT / folder).rglob("*.py")
        for word in words
        if word in path.read_text(encoding="utf-8")
    ]
    assert found == []


def test_the_name_of_a_test_is_a_sentence_of_about_60_characters():
    names = {
        match[1]: path.name
        for path in (PROJECT / "tests").rglob("*.py")
        for match in re.finditer(r"^def test_(\w+)", path.read_text(encoding="utf-8"), re.MULTILINE)
    }
    assert len(names) > 1000
    assert {name: place for name, place in names.items() if len(name) > NAME_LENGTH_MAX} == {}


def named(tree):
    """Functions, classes and values that a module declares; what a decorator hands on is used by that."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.decorator_list:
            yield node.name
        elif isinstance(node, ast.Assign):
            yield from (target.id for target in node.targets if isinstance(target, ast.Name))


def unused(sources):
    """[(file, name)] of what a module of `sources` declares and nothing in them mentions again."""
    mentioned = Counter(word for text in sources.values() for word in re.findall(r"\w+", text))
    modules = {name: text for name, text in sources.items() if name.endswith(".py")}
    return [(name, found) for name, text in modules.items() for found in named(ast.parse(text)) if mentioned[found] == 1]


def test_what_a_module_declares_is_used():
    places = [PROJECT / "manage.py", *(path for app in ("registry", "plantings") for path in sorted((PROJECT / app).rglob("*.*")))]
    sources = {
        path.relative_to(PROJECT).as_posix(): path.read_text(encoding="utf-8") for path in places if path.suffix in {".py", ".html", ".txt"}
    }
    assert len(sources) > 900
    # Django looks for these in the modules of commands, template tags and migrations
    asked_for = {"Command", "register", "Migration"}
    assert [(name, word) for name, word in unused(sources) if name not in READ_BY_OTHERS and word not in asked_for] == []


def test_a_name_that_nothing_uses_is_found():
    sources = {"a.py": "_OLD = 1\nLIMIT = 2\ndef show():\n    return LIMIT\n", "b.html": "{% show %}"}
    assert unused(sources) == [("a.py", "_OLD")]
