"""The colors of a job: numbers from one, layers that hold material of each, names with a color in them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reliefsmith.documents.legend import legend
from reliefsmith.model import Part

from .jobs import NAVY, RED, with_stock


def test_the_legend_counts_layers_from_one(job):
    assert [entry.layers for entry in legend(job)] == [(1, 10), (11, 13), (11, 13)]
    assert [entry.number for entry in legend(job)] == [1, 2, 3]


@pytest.mark.parametrize(
    ("low", "high", "layers"),
    [
        (0.0, 0.2, (1, 1)),
        (0.0, 0.3, (1, 2)),
        (0.19, 0.4, (1, 2)),
        (0.2, 0.4, (2, 2)),
        (0.20005, 0.4, (2, 2)),
        (2.0, 9.0, (11, 13)),
        (2.6, 3.0, (0, 0)),
    ],
)
def test_a_part_has_the_layers_that_its_material_lies_in(job, low: float, high: float, layers) -> None:
    """Thirteen layers of 0.2 mm; a top that is met counts to the layer below it."""
    corners = np.array([[0, 0, low], [1, 0, high], [0, 1, low]], dtype=float)
    part = Part("red", "motif", RED, corners, np.array([[0, 1, 2]], np.int32))
    (entry,) = legend(replace(job, parts=(part,)))
    assert entry.layers == layers
    assert entry.z_mm == (low, high)


def test_the_base_is_called_by_its_color_and_a_motif_by_its_name(job) -> None:
    base, red, _ = legend(job)
    assert (base.title, base.filament, base.hex) == ("base (navy)", "navy", "#14213d")
    assert (red.title, red.filament, red.color) == ("red", "red", RED)
    assert base.color == NAVY


def test_a_filament_is_named_only_where_a_stock_was_asked(job) -> None:
    assert [entry.spool for entry in legend(with_stock(job))] == ["", "Oda's berry", "corn"]
    assert {entry.spool for entry in legend(with_stock(job, asked=False))} == {""}
