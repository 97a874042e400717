"""Mutated files into every reader: a value or one plain line, nothing else (see fuzz.py).

RELIEFSMITH_FUZZ tells the number of cases of all readers together; a release is tried with 1,000,000.
"""

from __future__ import annotations

import os

import pytest

from deep import fuzz
from deep.readers import READERS

pytestmark = pytest.mark.deep

CASES = int(os.environ.get("RELIEFSMITH_FUZZ", "200000"))


@pytest.mark.parametrize("reader", READERS)
def test_every_case_is_a_value_or_one_line(reader: str) -> None:
    total = sum(one.share for one in READERS.values())
    outcome = fuzz.run(reader, 0, max(100, CASES * READERS[reader].share // total))
    assert outcome.findings == {}, outcome.first
    assert outcome.values, "no case came through: the mutations say nothing about what is accepted"
    assert outcome.refused
