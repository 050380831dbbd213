"""Each code list is declared once: forms, sheets, prints, commands and help are built from it."""

from dataclasses import fields
from inspect import getmembers, isclass, isfunction

import pytest
from django.db.models import TextChoices
from django.http import QueryDict

from plantings import choices as planting_choices
from plantings.calc.survival.groups import LEVELS, level_words
from plantings.forms.survival.filters import SurvivalFilters
from plantings.management.commands.survival import Command
from plantings.views.overview.glossary import GLOSSARY
from registry import choices as registry_choices
from registry.compliance.duties.clocks import UNITS
from registry.compliance.duties.recurrence import KINDS
from registry.compliance.gate.classes import BASES
from registry.compliance.gate.words import STATES, TYPES
from registry.selectors.pedigree.lineage import Lineage
from tests import factories

LISTS = {
    name: kind
    for module in (registry_choices, planting_choices)
    for name, kind in getmembers(module, isclass)
    if issubclass(kind, TextChoices) and kind is not TextChoices
}


def test_no_two_lists_hold_the_same_codes():
    seen = {}
    for name, kind in LISTS.items():
        seen.setdefault(frozenset(kind.values), []).append(name)
    assert [names for names in seen.values() if len(names) > 1] == []


def test_every_list_has_the_function_that_models_pass():
    functions = [found for module in (registry_choices, planting_choices) for _name, found in getmembers(module, isfunction)]
    offered = [dict(function()) for function in functions if ".choices" in function.__module__]
    used_by_code_only = {"CullReason"}
    assert {name for name, kind in LISTS.items() if dict(kind.choices) not in offered} == used_by_code_only


@pytest.mark.parametrize(
    ("kind", "labels"),
    [
        (registry_choices.AuthorizationType, TYPES),
        (registry_choices.ClassRule, BASES),
        (registry_choices.Recurrence, KINDS),
        (registry_choices.ClockUnit, UNITS),
    ],
)
def test_lists_of_the_pure_packages_are_those_of_the_forms(kind, labels):
    assert dict(kind.choices) == labels


def test_each_state_of_a_paper_has_words_for_a_sentence():
    assert set(registry_choices.AuthorizationState.values) == set(STATES)


def test_ledger_entries_come_in_go_out_or_are_counted():
    come, go = set(registry_choices.LEDGER_GAINS), set(registry_choices.LEDGER_LOSSES)
    assert come & go == set()
    assert come | go | {"counted"} == set(registry_choices.LedgerKind.values)


def test_every_survival_level_is_a_field_of_a_lineage():
    assert list(LEVELS) == [field.name for field in fields(Lineage)]


def test_help_names_every_survival_level():
    assert level_words() in dict(GLOSSARY)["Lineage"]


@pytest.mark.django_db
def test_a_new_survival_level_is_offered_everywhere(monkeypatch):
    monkeypatch.setitem(LEVELS, "cross", "cross")
    form = SurvivalFilters(factories.person("lead"), QueryDict("level=cross"))
    assert ("cross", "cross") in form.fields["level"].choices
    assert form.is_valid()
    parser = Command().create_parser("manage.py", "survival")
    assert parser.parse_args(["--level", "cross"]).level == "cross"
    assert level_words().endswith("or cross")
