"""Days, counts and plurals are written in one place for people and in one for programs; nowhere by a pattern or by cutting an s."""

import re

from registry.calc.shared.screen import SINGULARS
from tests.places import PROJECT

# a pattern of strftime inside a string or a format; the sheet reader names the orders people write days in, a file field its folder
PATTERN = re.compile(r"%-?[dbBYmHM]\b")
MAY_HOLD_PATTERNS = {"registry/calc/shared/iso.py", "registry/imports/sheets/table.py", "registry/models/sheets.py"}
UNIT = re.compile(
    r"""(?:\bunit=|\bunit = |(?:amount|unit)_words\([^"'\n()]*(?:\([^()\n]*\))?,\s*)["']([a-z ]+)["']|\|(?:amount|unit):"([a-z ]+)\""""
)
MEASURES = {"cm", "mm", "g", "kg", "cm above ground"}


def texts(*patterns):
    for app in ("registry", "plantings"):
        for pattern in patterns:
            for path in sorted((PROJECT / app).rglob(pattern)):
                if "migrations" not in path.parts and "vendor" not in path.parts:
                    yield path.relative_to(PROJECT).as_posix(), path.read_text(encoding="utf-8")


def test_no_module_writes_a_day_by_a_pattern_of_its_own():
    wrong = [name for name, text in texts("*.py") if name not in MAY_HOLD_PATTERNS and PATTERN.search(text)]
    assert wrong == []


def test_no_template_writes_a_day_or_a_plural_by_a_filter_of_django():
    wrong = [name for name, text in texts("*.html", "*.txt") if re.search(r"""\|date:|\|time:|\|pluralize(?!:"[^"]+,)""", text)]
    assert wrong == []


def test_every_unit_that_is_counted_has_its_singular():
    found = {first or second for _, text in texts("*.py", "*.html") for first, second in UNIT.findall(text)}
    assert len(found) > 50
    assert found - set(SINGULARS) - set(SINGULARS.values()) - MEASURES == set()


def test_no_plural_is_made_by_adding_an_s():
    wrong = [name for name, text in texts("*.py", "*.html") if re.search(r"""['"]s['"] if|else ['"]s['"]|removesuffix\(['"]s['"]""", text)]
    assert wrong == []
