"""The examples in the docstrings of the calculations run and print what they say."""

import doctest
import importlib
import pkgutil

import pytest

import plantings.calc
import registry.calc

MODULES = [
    f"{package.__name__}.{module.name}" for package in (registry.calc, plantings.calc) for module in pkgutil.iter_modules(package.__path__)
]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_print_what_they_say(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0
