"""The examples in the docstrings of the pure packages run and print what they say."""

import doctest
import importlib
import pkgutil

import pytest

import plantings.calc
import registry.calc
import registry.compliance

MODULES = [
    module.name
    for package in (registry.calc, registry.compliance, plantings.calc)
    for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}.")
    if not module.ispkg
]


def test_modules_in_subject_folders_are_found():
    assert "registry.calc.shared.proportion" in MODULES


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_print_what_they_say(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0
