"""Days, counts and plurals are written in one place for people and in one for programs; nowhere by a pattern or by cutting an s."""

import re

import pytest

from registry.calc.shared.screen import SINGULARS
from tests.places import PROJECT

# a pattern of strftime inside a string or a format; the sheet reader names the orders people write days in, a file field its folder
PATTERN = re.compile(r"%-?[dbBYmHMAaj]\b")
MAY_HOLD_PATTERNS = {"registry/calc/shared/iso.py", "registry/imports/sheets/reading_options.py", "registry/models/sheets.py"}
UNIT = re.compile(
    r"""(?:\bunit=|\bunit = |(?:amount|unit)_words\([^"'\n()]*(?:\([^()\n]*\))?,\s*)["']([a-z ]+)["']|\|(?:amount|unit):"([a-z ]+)\""""
)
UNITS = "|".join(sorted(map(re.escape, SINGULARS), key=len, reverse=True))
# a printed value in front of a plural: it is either not a count, or |amount writes both
PRINTED_COUNT = re.compile(rf"\{{\{{[^{{}}]*\}}\}}(?:</[a-z]+>)? (?:{UNITS})\b")
FORMATTED_COUNT = re.compile(rf"\{{(?!_?[A-Z_]+(?::,)?\}})[^{{}}\"':]+(?::,)?\}} (?:{UNITS})\b")  # a constant in capitals is never one
NOT_COUNTS = {"{{ object.taxon.name }} states", "{{ name|capfirst }} rows", "{outcome.capitalize()} rows", "{trees} records"}
TRANSLATED = re.compile(r"\{% blocktranslate.*?endblocktranslate %\}", re.DOTALL)  # both forms are there, for the translator
PLURAL_BY_PLACE = re.compile(r"\{%[^%]*%\}s\{%|\}\}e?s\b")
# messages of pure functions about their arguments, and seeds of random numbers
NO_COUNTS_FOR_PEOPLE = ("/calc/", "/compliance/", "/demo/")
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


def test_no_fstring_writes_a_day_by_a_pattern_of_its_own():
    assert [name for name, text in texts("*.py") if re.search(r"\{[^{}\"':]*:%[A-Za-z]", text)] == []


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


def counts_without_singular(pattern, text):
    return [found for found in pattern.findall(TRANSLATED.sub("", text)) if found not in NOT_COUNTS]


def test_no_template_puts_a_count_before_a_plural_of_its_own():
    found = [(name, wrong) for name, text in texts("*.html", "*.txt") for wrong in counts_without_singular(PRINTED_COUNT, text)]
    assert found == []


def test_no_template_adds_an_s():
    assert [name for name, text in texts("*.html", "*.txt") if PLURAL_BY_PLACE.search(text)] == []


def test_no_fstring_puts_a_count_before_a_plural_of_its_own():
    read = [(name, text) for name, text in texts("*.py") if not any(part in f"/{name}" for part in NO_COUNTS_FOR_PEOPLE)]
    assert [(name, wrong) for name, text in read for wrong in counts_without_singular(FORMATTED_COUNT, text)] == []


@pytest.mark.parametrize(
    ("pattern", "text"),
    [
        (PRINTED_COUNT, "growing seasons, {{ plantings }} plantings"),
        (PRINTED_COUNT, "{{ count }}</strong> trees"),
        (FORMATTED_COUNT, 'f"no receipt after {days} days"'),
        (FORMATTED_COUNT, "checked: {len(differences)} differences."),
        (PLURAL_BY_PLACE, "{{ words }}{% if not forloop.first %}s{% endif %}"),
        (PLURAL_BY_PLACE, "{{ word }}s"),
        (PATTERN, "f'{day:%A}'"),
    ],
)
def test_what_these_patterns_are_for_is_found(pattern, text):
    assert pattern.search(text)
