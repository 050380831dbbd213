"""README.md and DEVELOPERS.md name what a person can type or set."""

import re

from django.core.management import get_commands

from tests.places import PROJECT


def text(name):
    path = PROJECT / name
    assert path.exists(), f"{name} is missing."
    return path.read_text(encoding="utf-8")


def commands():
    return sorted(
        path.stem
        for app in ("registry", "plantings")
        for path in (PROJECT / app).glob("management/commands/*.py")
        if path.stem != "__init__"
    )


def test_the_readme_has_the_two_commands():
    readme = text("README.md")
    assert [word for word in ("start", "prove") if not re.search(rf"^\s*(\$ )?python3 manage\.py {word}$", readme, re.MULTILINE)] == []


def test_every_management_command_of_ours_is_named_as_it_is_typed():
    both = text("README.md") + text("DEVELOPERS.md")
    assert [name for name in commands() if not re.search(rf"manage\.py {name}\b", both)] == []


def test_no_document_names_a_command_that_does_not_exist():
    known = {*commands(), *get_commands(), "start", "prove", "lock"}
    both = text("README.md") + text("DEVELOPERS.md")
    assert sorted(set(re.findall(r"manage\.py ([a-z_]+)", both)) - known) == []


def test_every_variable_is_explained_for_developers():
    variables = re.findall(r"^#?([A-Z_]+)=", text(".env.example"), re.MULTILINE)
    assert variables
    assert [name for name in variables if not re.search(rf"\b{name}\b", text("DEVELOPERS.md"))] == []


def test_every_path_that_developers_are_sent_to_exists():
    # a path from the top of the project; <names> in it are filled in by the reader
    named = re.findall(r"`((?:registry|plantings|tests|fixtures)/[^`\s]*)`", text("DEVELOPERS.md"))
    assert len(named) >= 50
    assert sorted({path for path in named if "<" not in path and not list(PROJECT.glob(path.rstrip("/")))}) == []
