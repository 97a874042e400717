"""Medians are those of the array library, to the bit."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from reliefsmith.colorimetry.median import median


@pytest.mark.parametrize("dtype", [np.uint8, np.int16, np.float64])
@pytest.mark.parametrize("shape", [(1,), (2,), (7,), (100,), (9, 4), (10, 4)])
def test_medians_are_those_of_the_library(dtype: type, shape: tuple[int, ...]) -> None:
    values = (np.random.default_rng(3).random(shape) * 255).astype(dtype)
    np.testing.assert_array_equal(median(values), np.median(values, axis=0))


def test_no_masked_arrays_are_loaded() -> None:
    code = (
        "import sys, numpy; from reliefsmith.colorimetry.median import median;"
        "median(numpy.arange(4)); print('numpy.ma' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.strip() == "False"
