"""Specks and slivers."""

from __future__ import annotations

import numpy as np

from reliefsmith.color.capture import Capture
from reliefsmith.color.specks import without_slivers, without_specks


def test_small_patches_go_to_their_neighbors_and_large_ones_stay() -> None:
    labels = np.zeros((40, 40), np.uint8)
    labels[:, 20:] = 1
    clean = labels.copy()
    labels[5, 5:8] = 2  # 3 px
    labels[30:32, 30:32] = 2  # 4 px
    labels[10:13, 10:13] = 2  # 9 px stay
    clean[10:13, 10:13] = 2
    seeded = np.ones(labels.shape, bool)
    np.testing.assert_array_equal(without_specks(labels, seeded, Capture(0.0, False, False, 1.0)), clean)


def test_lossy_pictures_need_larger_patches_with_calm_pixels() -> None:
    labels = np.zeros((60, 60), np.uint8)
    labels[5:8, 5:8] = 2  # 9 px: too small
    labels[20:26, 20:26] = 2  # 36 px without calm pixels
    labels[40:46, 40:46] = 2  # 36 px with them
    seeded = np.zeros(labels.shape, bool)
    seeded[42:44, 42:44] = True
    kept = without_specks(labels, seeded, Capture(0.0, True, True, 1.0))
    assert set(np.argwhere(kept == 2).min(axis=0)) == {40}
    assert (kept == 2).sum() == 36


def test_an_enlarged_lossy_picture_needs_patches_as_many_times_larger() -> None:
    labels = np.zeros((60, 60), np.uint8)
    labels[5:9, 5:9] = 2  # 16 px, calm: a patch of four pixels of the source
    labels[20:28, 20:28] = 2  # 64 px, calm
    labels[40:52, 40:52] = 2  # 144 px that are never calm
    seeded = np.zeros(labels.shape, bool)
    seeded[:30] = True
    assert (without_specks(labels, seeded, Capture(0.0, True, True, 1.0)) == 2).sum() == 16 + 64 + 144
    assert (without_specks(labels, seeded, Capture(0.0, True, True, 2.0)) == 2).sum() == 64
    assert (without_specks(labels, seeded, Capture(0.0, False, False, 2.0)) == 2).sum() == 16 + 64 + 144


def test_thin_diagonal_lines_are_no_specks() -> None:
    labels = np.eye(30, dtype=np.uint8)
    np.testing.assert_array_equal(
        without_specks(labels, np.zeros((30, 30), bool), Capture(0.0, False, False, 1.0)), labels
    )


def test_a_speck_at_the_border_and_a_map_of_one_label() -> None:
    labels = np.zeros((20, 20), np.uint8)
    assert without_specks(labels, labels == 0, Capture(0.0, True, True, 1.0)) is labels
    labels[0, 0] = 3
    assert not without_specks(labels, labels == 0, Capture(0.0, False, False, 1.0)).any()


def test_single_pixels_where_three_areas_meet_join_the_commonest() -> None:
    labels = np.zeros((20, 20), np.uint8)
    labels[10:, :] = 1
    labels[:, 12:] = 2
    clean = labels.copy()
    labels[9, 11] = 3
    np.testing.assert_array_equal(without_slivers(labels), clean)


def test_straight_edges_and_clean_junctions_stay() -> None:
    labels = np.zeros((20, 20), np.uint8)
    labels[10:, :] = 1
    labels[:, 12:] = 2
    np.testing.assert_array_equal(without_slivers(labels), labels)
