"""The worked numbers in the docstrings are true."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

from register import calc

MODULES = [module.name for module in pkgutil.iter_modules(calc.__path__, "register.calc.")]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_in_the_docstrings_hold(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0
