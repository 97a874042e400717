"""A small sample of the mutated files of the deep tier, in this process, for every reader."""

from __future__ import annotations

from pathlib import Path

import pytest

from deep import fuzz
from deep.readers import READERS
from reliefsmith.errors import ReliefsmithError

CASES = {"svg-drawn": 3}
# Cases that were findings once: (reader, number), see tests/README.md.
ONCE = {
    "stored": [12742],
    "3mf": [2477],
    "tiff": [11033, 3621, 194],
    "svg-drawn": [2564, 1009],
    "gif": [291, 70],
    "kept": [118, 140, 876, 905, 1021, 1092, 1600, 1688, 1943, 2000644],
    "line": [1921],
}


def numbers(reader: str) -> list[int]:
    """The cases of a reader that are tried here: the first ones, and those that were findings once."""
    first = range(CASES.get(reader, 60))
    return [*first, *(number for number in ONCE.get(reader, ()) if number not in first)]


@pytest.mark.parametrize("reader", READERS)
def test_a_value_or_one_line(reader: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    for number in numbers(reader):
        data = fuzz.case_bytes(reader, number)
        try:
            READERS[reader].read(data, tmp_path)
        except ReliefsmithError as error:
            assert fuzz.told(error) == ""  # noqa: PT017 - a value is right as well
        assert capfd.readouterr() == ("", ""), number
