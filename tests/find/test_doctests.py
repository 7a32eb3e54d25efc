"""The examples in the docstrings are true."""

import doctest
from types import ModuleType

import pytest

from narrate.find import numbers, places, prices
from narrate.score import names
from narrate.words import phrases


@pytest.mark.parametrize("module", [numbers, prices, places, phrases, names], ids=lambda module: module.__name__)
def test_the_examples_in_the_module_are_true(module: ModuleType) -> None:
    result = doctest.testmod(module)
    assert (result.attempted > 0, result.failed) == (True, 0)
