"""The code is formatted and linted by one tool, with the settings of `pyproject.toml`; tests have names that can be read."""

import re
import subprocess
import sys

import pytest

from tests.places import PROJECT

NAME_LENGTH_MAX = 65


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
