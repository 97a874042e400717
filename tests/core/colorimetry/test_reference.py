"""The picture on its grid: which pairs are edges, by definition, and to which side mixtures are given."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage import color

from reliefsmith.colorimetry import ciede2000
from reliefsmith.colorimetry.reference import GREATEST_RATIO, Reference, reference

# The three reds are apart by a CIEDE2000 of 12, 18 and 28, all else by 35 and more.
COLORS = np.array([(250, 250, 250), (200, 30, 30), (215, 90, 60), (115, 20, 30), (20, 40, 160)], np.uint8)


def pairs(wanted: Reference) -> set[tuple[int, int]]:
    return set(zip(wanted.first.tolist(), wanted.second.tolist(), strict=True))


@settings(max_examples=15)
@given(st.integers(0, 2**32 - 1), st.sampled_from([0.0, 0.5, 1.0]))
def test_edges_are_the_pairs_four_cells_apart_that_differ_by_twenty(seed: int, outer: float) -> None:
    """By the color difference of scikit-image.

    Patches of 5 x 5 cells, so that mixtures are no matter here; `outer` is how much of them is ground.
    """
    random = np.random.default_rng(seed)

    def patches(values: np.ndarray) -> np.ndarray:
        return np.kron(values, np.ones((5, 5), values.dtype))

    rgb = np.stack(
        [patches(channel) for channel in np.moveaxis(COLORS[random.integers(0, 5, (3, 4))], 2, 0)], 2
    )
    outside = patches(random.random((3, 4)) < outer)
    clear = outside & patches(random.random((3, 4)) < 0.5)
    wanted = reference(rgb, outside, clear)
    assert np.array_equal(wanted.rgb, rgb)
    lab, cells = color.rgb2lab(rgb), np.arange(300).reshape(15, 20)
    expected = set()
    for one, other in ((np.s_[:-4], np.s_[4:]), (np.s_[:, :-4], np.s_[:, 4:])):
        edge = color.deltaE_ciede2000(lab[one], lab[other]) >= 20
        edge = np.where(clear[one] | clear[other], clear[one] != clear[other], edge)
        edge &= ~(outside[one] & outside[other])
        expected |= set(zip(cells[one][edge].tolist(), cells[other][edge].tolist(), strict=True))
    assert pairs(wanted) == expected
    assert len(wanted.first) == len(expected)


def row_of(*colors: tuple[int, int, int]) -> Reference:
    """Return the reference of a strip of ten equal rows."""
    rgb = np.repeat(np.array(colors, np.uint8)[None], 10, axis=0)
    return reference(rgb, np.zeros(rgb.shape[:2], bool))


WHITE, RED, BLUE = (250, 250, 250), (200, 30, 30), (20, 40, 160)


@pytest.mark.parametrize("first", [WHITE, (215, 90, 60)], ids=["plain", "near"])
@pytest.mark.parametrize("share", [0.2, 0.8])
@pytest.mark.parametrize("cells", [1, 2])
def test_a_mixture_between_two_colors_is_given_to_the_nearer_one(
    first: tuple[int, int, int], share: float, cells: int
) -> None:
    """Also where the two differ by no more than the eye tells at a glance, 19 in CIELAB."""
    mix = tuple(round(a + share * (b - a)) for a, b in zip(first, RED, strict=True))
    strip = [first] * 6 + [mix] * cells + [RED] * 6
    wanted = row_of(*strip)
    there = [tuple(map(int, cell)) for cell in wanted.rgb[5]]
    assert there == [first] * 6 + [first if share < 0.5 else RED] * cells + [RED] * 6
    assert np.array_equal(wanted.lab, row_of(*there).lab)


@pytest.mark.parametrize("beside", [WHITE, BLUE])
@pytest.mark.parametrize("cells", [1, 2])
def test_a_thin_line_is_no_mixture(cells: int, beside: tuple[int, int, int]) -> None:
    strip = [WHITE] * 6 + [RED] * cells + [beside] * 6
    assert [tuple(map(int, cell)) for cell in row_of(*strip).rgb[5]] == strip


def test_faint_shades_beside_each_other_are_left() -> None:
    """A slow ramp of grays: no two cells of it, two or four apart, are told apart at a glance."""
    ramp = [(100 + 3 * k,) * 3 for k in range(20)]
    assert [tuple(map(int, cell)) for cell in row_of(*ramp).rgb[5]] == ramp


@settings(max_examples=10)
@given(st.integers(0, 2**32 - 1))
def test_turns_and_mirrors_of_a_soft_picture_are_those_of_its_reference(seed: int) -> None:
    """Blurred patches, so that nearly every cell near an edge is a mixture."""
    random = np.random.default_rng(seed)
    sharp = np.kron(random.integers(0, 5, (3, 3)), np.ones((4, 4), int))
    rgb = COLORS[sharp].astype(float)
    rgb[1:-1, 1:-1] = (
        sum(np.roll(rgb, shift, (0, 1)) for shift in itertools.product((-1, 0, 1), repeat=2))[1:-1, 1:-1] / 9
    )
    picture, outside = rgb.astype(np.uint8), sharp == 0
    here = reference(picture, outside)
    for turn in (np.rot90, np.flipud, np.fliplr, lambda a: np.swapaxes(a, 0, 1)):
        there = reference(np.ascontiguousarray(turn(picture)), np.ascontiguousarray(turn(outside)))
        assert np.array_equal(there.rgb, turn(here.rgb))
        assert np.array_equal(there.outside, turn(here.outside))
        cells = turn(np.arange(outside.size).reshape(outside.shape)).ravel()
        back = {tuple(sorted(cells[list(pair)].tolist())) for pair in pairs(there)}
        assert back == {tuple(sorted(pair)) for pair in pairs(here)}


def test_what_has_no_color_takes_none_and_gives_none() -> None:
    """A clear cell between white and red stays clear; a mixture beside clear ground stays as it is."""
    rgb = np.repeat(np.array([WHITE] * 5 + [(225, 140, 140)] + [RED] * 5, np.uint8)[None], 10, axis=0)
    clear = np.zeros(rgb.shape[:2], bool)
    clear[:, 6:] = True
    wanted = reference(rgb, clear, clear)
    assert np.array_equal(wanted.clear, clear)
    assert np.array_equal(wanted.rgb, rgb)


@pytest.mark.parametrize("shape", [(1, 1), (2, 9), (4, 4), (5, 1)])
def test_pictures_smaller_than_a_pair_have_the_edges_that_they_can_have(shape: tuple[int, int]) -> None:
    rgb = np.zeros((*shape, 3), np.uint8)
    rgb[-1, -1] = 255
    assert len(reference(rgb, np.zeros(shape, bool)).first) == (shape[0] > 4) + (shape[1] > 4)


@given(
    st.lists(st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128)), min_size=2, max_size=2)
)
def test_the_difference_is_bounded_by_the_plain_distance(pair: list[tuple[float, float, float]]) -> None:
    """The bound that spares most colors the long formula holds anywhere."""
    one, other = np.array(pair)
    assert ciede2000(one, other) <= GREATEST_RATIO * np.linalg.norm(one - other) + 1e-6
