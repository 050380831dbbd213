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


def test_no_row_of_a_table_is_there_twice():
    """By its first cell: a row that was reworded in one of two places would contradict the other."""
    found = []
    for name in ("README.md", "DEVELOPERS.md"):
        for table in re.findall(r"(?:^\|.*\n)+", text(name), re.MULTILINE):
            firsts = [line.split("|")[1].strip() for line in table.splitlines()[2:]]
            found += [(name, first) for first in firsts if firsts.count(first) > 1]
    assert found == []


# habits that make a sentence sound translated; "in spite of" is in the earlier header of a column, which is still read
HABITS = re.compile(r"\b(anew|nought|reckon\w*|field book|put right|climbed to|hangs? on|is no more)\b", re.IGNORECASE)


def test_nobody_has_to_read_a_sentence_twice():
    places = [PROJECT / name for name in ("README.md", "DEVELOPERS.md")]
    for folder in ("registry", "plantings", "tests", "fixtures"):
        files = sorted((PROJECT / folder).rglob("*.*"))
        places += [path for path in files if path.suffix in {".py", ".html", ".txt", ".js", ".toml", ".md"} and "vendor" not in path.parts]
    assert len(places) > 1500
    own = PROJECT / "tests" / "project" / "test_docs.py"
    found = [
        (path.name, word) for path in places if path != own for word in HABITS.findall(path.read_text(encoding="utf-8").replace("_", " "))
    ]
    assert found == []
