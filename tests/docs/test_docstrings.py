"""The examples in docstrings hold."""

import doctest
import importlib
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
WITH_EXAMPLES = [
    ".".join(path.relative_to(ROOT).with_suffix("").parts)
    for package in ("audio", "pairing")
    for path in sorted((ROOT / package).rglob("*.py"))
    if re.search(r"^\s*>>> ", path.read_text("utf-8"), re.M)
]


@pytest.mark.parametrize("module", WITH_EXAMPLES)
def test_examples_in_docstrings_hold(module: str) -> None:
    outcome = doctest.testmod(importlib.import_module(module), optionflags=doctest.ELLIPSIS)
    assert not outcome.failed
