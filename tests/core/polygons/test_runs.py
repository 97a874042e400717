"""Connected pieces on runs against a flood-filling library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy import ndimage

from reliefsmith.polygons.runs import find_pieces

MAPS = hnp.arrays(
    np.uint8, hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=12), elements=st.integers(0, 2)
)


def piece_map(labels: np.ndarray, *, diagonal: bool) -> np.ndarray:
    pieces = find_pieces(labels, diagonal=diagonal)
    return np.repeat(pieces.of_run, pieces.lengths).reshape(labels.shape)


@settings(max_examples=60)
@given(MAPS, st.booleans())
def test_pieces_are_the_connected_areas_of_each_label(labels: np.ndarray, diagonal: bool) -> None:
    got = piece_map(labels, diagonal=diagonal)
    structure = np.ones((3, 3)) if diagonal else None
    count = 0
    for label in range(3):
        flood, parts = ndimage.label(labels == label, structure=structure)
        count += parts
        for part in range(1, parts + 1):
            assert len(np.unique(got[flood == part])) == 1
    assert len(np.unique(got)) == count


@settings(max_examples=40)
@given(MAPS)
def test_areas_links_and_border(labels: np.ndarray) -> None:
    pieces = find_pieces(labels)
    got = piece_map(labels, diagonal=False)
    np.testing.assert_array_equal(pieces.areas, np.bincount(got.ravel()))
    np.testing.assert_array_equal(pieces.labels[got], labels)
    beside = np.concatenate(
        [
            np.stack([got[:, :-1].ravel(), got[:, 1:].ravel()], axis=1),
            np.stack([got[:-1].ravel(), got[1:].ravel()], axis=1),
        ]
    )
    beside = np.unique(np.sort(beside[beside[:, 0] != beside[:, 1]], axis=1), axis=0)
    np.testing.assert_array_equal(pieces.links, beside)
    rim = np.unique(np.concatenate([got[0], got[-1], got[:, 0], got[:, -1]]))
    np.testing.assert_array_equal(np.flatnonzero(pieces.at_border), rim)


def test_pixels_and_sums() -> None:
    labels = np.array([[0, 0, 1], [2, 0, 1], [2, 2, 1]], np.uint8)
    pieces = find_pieces(labels)
    chosen = pieces.labels == 2
    assert pieces.pixels(chosen).tolist() == [3, 6, 7]
    flags = np.zeros((3, 3), bool)
    flags[2] = True
    sums = dict(zip(pieces.labels.tolist(), pieces.sums(flags).tolist(), strict=True))
    assert sums == {0: 0, 1: 1, 2: 2}
    assert pieces.pixels(np.zeros(3, bool)).tolist() == []


@pytest.mark.parametrize("diagonal", [False, True])
def test_runs_do_not_wrap_round_the_picture(diagonal: bool) -> None:
    labels = np.array([[0, 0, 1], [1, 0, 0]], np.uint8)
    pieces = find_pieces(labels, diagonal=diagonal)
    assert (pieces.labels == 1).sum() == 2
