"""How many cases of this tier are kept, and that each real file that damage starts from is read."""

from __future__ import annotations

from pathlib import Path

import pytest

from deep.readers import READERS
from reliefsmith.errors import ReliefsmithError

from . import hostile, test_hostile_files, test_mutated_files

NAMED = {
    "pictures": hostile.PICTURES,
    "drawings": hostile.DRAWINGS,
    "solids": hostile.SOLIDS,
    "recipes": hostile.RECIPES,
    "references": test_hostile_files.REFERENCES,
    "slow drawings": test_hostile_files.QUICK_TO_TRY,
}


def mutated() -> list[tuple[str, int]]:
    """Every mutated file that is tried in this tier: its reader and its number."""
    return [(reader, number) for reader in READERS for number in test_mutated_files.numbers(reader)]


def test_at_least_300_hostile_files_are_tried_each_time() -> None:
    """Some by name, some by number; none is counted twice."""
    named = [(kind, name) for kind, files in NAMED.items() for name in files]
    found = mutated()
    assert len(named) >= 130
    assert len(set(found)) == len(found)
    assert len(named) + len(found) >= 900


@pytest.mark.parametrize("reader", READERS)
def test_real_files_are_read_unharmed(reader: str, tmp_path: Path) -> None:
    """Otherwise the cases that start from them would say nothing of what lies behind the first check."""
    seeds = READERS[reader].seeds()
    assert len(seeds) == len(set(seeds))
    for data in seeds:
        try:
            READERS[reader].read(data, tmp_path)
        except ReliefsmithError as error:
            pytest.fail(f"a real file is refused: {error}")
