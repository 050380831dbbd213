"""A measurement is one entry of the table and one migration: two are added to a copy of the project, and used there.

`new_measurement_walk.py` runs in the copy, on SQLite, and uses the census form, the keying grid, a sheet, the field form, the pages
and the database.
"""

import os
import re
import shutil
import subprocess
import sys

import pytest

from tests.places import PROJECT, compiled

ENTRIES = """
    Measurement("crown", "crown_m", "Crown width", MEASURED, unit="m", high=30, example="3.5", unseen=ERROR),
    Measurement(
        "scorch", "leaf_scorch", "Leaf scorch", LOOKED_FOR,
        classes=(Code("none", "None", "No leaf scorched."), Code("some", "Some", "Up to half."), Code("most", "Most", "Over half.")),
    ),
"""
PROTECT = 'migrations.RunPython(*protect_again("plantings_observation")),'


@pytest.fixture
def copy(tmp_path):
    """A copy of the project whose table of measurements has two entries more."""
    for name in ("registry", "plantings", "tests"):
        shutil.copytree(PROJECT / name, tmp_path / name)
        if sys.pycache_prefix and compiled(PROJECT / name).exists():  # a file not touched is not compiled again
            shutil.copytree(compiled(PROJECT / name), compiled(tmp_path / name))
    for name in ("manage.py", "pyproject.toml"):
        shutil.copy(PROJECT / name, tmp_path)
    table = tmp_path / "plantings/calc/census/measurements.py"
    before, after = re.split(r"(?<=\nMEASUREMENTS = \()", table.read_text(encoding="utf-8"))
    listed, rest = after.split(")\n", 1)
    table.write_text(f"{before}\n    {listed},{ENTRIES})\n{rest}", encoding="utf-8")
    yield tmp_path
    if sys.pycache_prefix:
        shutil.rmtree(compiled(tmp_path), ignore_errors=True)


def run(place, *arguments):
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "DATABASE_URL", "DJANGO_SETTINGS"))}
    done = subprocess.run(
        [sys.executable, *arguments], cwd=place, env=kept | {"MASTBOOK_DATA_DIR": str(place / "data")}, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-4000:]
    return done.stdout


@pytest.mark.one_database
def test_an_entry_and_a_migration_add_a_measurement_everywhere(copy):
    run(copy, "manage.py", "makemigrations", "plantings", "--name", "crown_and_scorch")
    [migration] = (copy / "plantings/migrations").glob("*_crown_and_scorch.py")
    text = migration.read_text(encoding="utf-8")
    assert "name='crown_m'" in text and "name='leaf_scorch'" in text and "observation_crown_range" in text
    # what DEVELOPERS.md says of a changed append-only table
    start, operations = text.rsplit("]", 1)
    text = f"{start}    {PROTECT}\n    ]{operations}".replace(
        "class Migration", "from registry.models.append_only import protect_again\n\n\nclass Migration"
    )
    migration.write_text(text, encoding="utf-8")
    out = run(copy, "-m", "pytest", "-q", "-p", "no:randomly", "tests/plantings/census/new_measurement_walk.py")
    assert re.search(r"^9 passed", out, re.M), out
