"""The examples in docstrings of the core give what they say."""

from __future__ import annotations

import doctest
import importlib
import re
from pathlib import Path

import pytest

CORE = Path(__file__).parents[2] / "core"
FILES = [path for path in sorted(CORE.rglob("*.py")) if ">>>" in path.read_text(encoding="utf-8")]
MODULES = [".".join(path.relative_to(CORE).with_suffix("").parts).removesuffix(".__init__") for path in FILES]


WRITTEN = [len(re.findall(r"^ *>>> ", path.read_text(encoding="utf-8"), re.MULTILINE)) for path in FILES]


@pytest.mark.parametrize(("name", "written"), list(zip(MODULES, WRITTEN, strict=True)), ids=MODULES)
def test_examples_give_what_they_say(name: str, written: int) -> None:
    """None is passed over, as one within a function would be."""
    done = doctest.testmod(importlib.import_module(name), raise_on_error=False, verbose=False)
    assert done.attempted >= written
    assert not done.failed, "see the lines above, printed by doctest"


def test_examples_are_found() -> None:
    """119 modules had 509 lines of examples when this was written; a search that finds none would pass."""
    assert len(MODULES) >= 110
    assert sum(WRITTEN) >= 480
