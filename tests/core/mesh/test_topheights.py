"""How high a top is at any place."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from reliefsmith.mesh.topheights import plain_heights
from reliefsmith.model import Contours, Field
from reliefsmith.polygons import as_multi

PLACES = np.array([(0.5, 2.0), (2.0, 2.0), (3.5, 3.0), (-9.0, 2.0)])


def test_a_level_top_is_level() -> None:
    assert plain_heights(2.4)(PLACES).tolist() == [2.4] * 4


def test_a_field_is_as_high_as_its_values_and_nowhere_lower_than_its_edge() -> None:
    ramp = Field(np.array([[0.0, 1.0], [0.0, 1.0]], np.float32), (0.0, 0.0), 4.0, edge_mm=0.3)
    assert plain_heights(ramp)(PLACES) == pytest.approx([0.3, 0.5, 0.875, 0.3])


def test_a_sloped_top_rises_from_contour_to_contour() -> None:
    """A roof with its ridge cut off: 1 mm in a millimetre, level within the second contour."""
    roof = Contours(tuple(as_multi(shapely.box(k, k, 4 - k, 4 - k)) for k in (0, 1)), (1.0, 2.0))
    assert plain_heights(roof)(PLACES) == pytest.approx([1.5, 2.0, 1.5, 1.0])
