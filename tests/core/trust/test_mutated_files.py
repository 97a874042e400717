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
}


@pytest.mark.parametrize("reader", READERS)
def test_a_value_or_one_line(reader: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    for number in [*range(CASES.get(reader, 60)), *ONCE.get(reader, ())]:
        data = fuzz.case_bytes(reader, number)
        try:
            READERS[reader].read(data, tmp_path)
        except ReliefsmithError as error:
            assert fuzz.told(error) == ""  # noqa: PT017 - a value is right as well
        assert capfd.readouterr() == ("", ""), number
