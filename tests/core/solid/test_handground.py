"""Hand relief on the ground beside motifs: where it does not hold, and how it goes on beside the ground."""

from __future__ import annotations

import numpy as np

from reliefsmith.solid.handground import _carried_on

NAN = np.nan


def test_on_the_ground_relief_that_does_not_hold_is_level_and_beside_it_goes_on_as_at_the_edge() -> None:
    values = np.array([[0.4, NAN, NAN, NAN, NAN, NAN]])
    inside = np.array([[True, True, False, False, False, False]])
    found = _carried_on(values, inside)
    assert found[0].tolist() == [0.4, 0.0, 0.0, 0.0, 0.0, 0.0]
    values[0, 1] = 0.6
    assert _carried_on(values, inside)[0].tolist() == [0.4, 0.6, 0.6, 0.6, 0.0, 0.0]


def test_beside_the_ground_a_place_is_the_mean_of_what_lies_round_it() -> None:
    values = np.full((3, 3), NAN)
    values[0, 0], values[2, 0] = 1.0, 3.0
    inside = ~np.isnan(values)
    assert _carried_on(values, inside)[1, 0] == 2.0
