"""The generator of the demo: the same description and seed give the same rows, whoever runs it, when and on which Python."""

import hashlib
import os
import shutil
import subprocess
import sys

import pytest

from plantings.imports.demo.programme.description import FILE
from plantings.imports.demo.programme.rows import demo_rows
from plantings.imports.demo.sheets import demo_sheets
from tests.places import PROJECT

# Of all rows as they were when the demo was last changed on purpose: `python -c` with the line PRINT_DIGEST prints the one of today.
DIGEST = "c560fa9d8c3ee00c085e508edcc06f283cf6bed3c2944f1c624ff74bcdd94f4d"
PRINT_DIGEST = (
    "import hashlib; from plantings.imports.demo.programme.rows import demo_rows; "
    "print(hashlib.sha256(repr(demo_rows()).encode()).hexdigest())"
)
ANOTHER_DAY = """
import datetime, time
class Date(datetime.date):
    @classmethod
    def today(cls):
        return cls(2041, 5, 17)
datetime.date = Date
time.time = time.monotonic = lambda: 2_252_000_000.0
"""


def digest_of(python, before="", **environment):
    command = [python, "-B", "-c", before + PRINT_DIGEST]
    done = subprocess.run(command, cwd=PROJECT, env=os.environ | environment, capture_output=True, text=True, check=True)
    return done.stdout.strip()


def test_the_rows_are_those_the_demo_was_last_given_on_purpose():
    assert hashlib.sha256(repr(demo_rows()).encode()).hexdigest() == DIGEST


@pytest.mark.parametrize("hash_seed", ["1", "2"])
def test_neither_the_order_of_hashes_nor_the_day_changes_a_row(hash_seed):
    assert digest_of(sys.executable, ANOTHER_DAY, PYTHONHASHSEED=hash_seed) == DIGEST


@pytest.mark.parametrize("name", ["python3.11", "python3.12", "python3.13", "python3.14"])
def test_every_python_of_this_machine_makes_the_same_rows(name):
    python = shutil.which(name)
    if not python or subprocess.run([python, "-c", ""], capture_output=True, check=False).returncode:
        pytest.skip(f"no {name} on this machine")
    assert digest_of(python) == DIGEST


def test_another_seed_makes_another_census_of_the_same_kind():
    here, there = dict(demo_rows()), dict(demo_rows(seed=7))
    assert here["census"] != there["census"] and here["site"] == there["site"]
    assert len(there["tree"]) == len(here["tree"])


def test_the_files_are_the_same_twice():
    assert demo_sheets() == demo_sheets()


def test_the_repository_holds_the_description_and_not_the_sheets():
    files = sorted(path for path in FILE.parent.iterdir())
    assert [path.suffix for path in files] == [".md", ".toml"]
    assert sum(len(path.read_text(encoding="utf-8").splitlines()) for path in files) < 1_500
