"""Where a sheet lies: a camera's own sums for flat and curled paper, edges measured on a drawn sheet."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from reliefsmith.artwork.marked.placing import Place, at_middles, placed
from reliefsmith.formats.classlayout import FIELD, FRAME_MM, MARK_MM, MARKS

from .flat import drawn, lying, true

MIDDLES = np.array(MARKS) + MARK_MM / 2
SIZE = (1200, 900)
FOCAL = 0.8 * np.hypot(*SIZE)
GRID = np.stack(np.meshgrid(np.linspace(0, FRAME_MM[0], 7), np.linspace(0, FRAME_MM[1], 9)), axis=-1)


def turned(across: float, down: float, round_: float) -> np.ndarray:
    """Return a turn by three angles in degrees."""
    a, b, c = np.radians([across, down, round_])
    about_y = np.array([[np.cos(a), 0, np.sin(a)], [0, 1, 0], [-np.sin(a), 0, np.cos(a)]])
    about_x = np.array([[1, 0, 0], [0, np.cos(b), -np.sin(b)], [0, np.sin(b), np.cos(b)]])
    about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return about_y @ about_x @ about_z


def camera(places: np.ndarray, turn: np.ndarray) -> np.ndarray:
    """Return px of places (..., 3) in mm of the frame, z away from the camera, by a pinhole 320 mm off."""
    there = (places - [FRAME_MM[0] / 2, FRAME_MM[1] / 2, 0]) @ turn.T + [0, 0, 420]
    return there[..., :2] / there[..., 2:] * FOCAL + np.array(SIZE) / 2


def flat(mm: np.ndarray, height: np.ndarray | float = 0.0) -> np.ndarray:
    return np.concatenate([mm, np.broadcast_to(-np.asarray(height), mm.shape[:-1])[..., None]], axis=-1)


@pytest.mark.parametrize("angles", [(0, 0, 0), (30, 0, 10), (-20, 25, 100), (5, -35, 180)])
def test_a_flat_sheet_lies_where_a_pinhole_camera_sees_it(angles: tuple[float, float, float]) -> None:
    turn = turned(*angles)
    place = at_middles(camera(flat(MIDDLES), turn), SIZE)
    assert np.abs(place.pixels(GRID) - camera(flat(GRID), turn)).max() < 1e-6


@pytest.mark.parametrize("angles", [(25, 0, 10), (-20, 25, 100), (15, -30, 180)])
@pytest.mark.parametrize("curl", [(4.0, 0.0), (0.0, -3.0), (2.0, 2.0)])
def test_curled_paper_lies_where_the_camera_sees_its_points_above_the_table(
    angles: tuple[float, float, float], curl: tuple[float, float]
) -> None:
    """The way up follows from the homography: its two directions are square and as long as each other."""
    turn = turned(*angles)
    whole = at_middles(camera(flat(MIDDLES), turn), SIZE)
    place = Place(whole.matrix, whole.middle, whole.reach, 0.0, np.array(curl))
    share = GRID / FRAME_MM
    height = (4 * share * (1 - share)) @ np.array(curl)
    assert np.abs(place.pixels(GRID) - camera(flat(GRID, height), turn)).max() < 1e-3
    assert np.abs(place.pixels(GRID) - whole.pixels(GRID)).max() > 1


@pytest.mark.parametrize("lens", [-0.05, 0.0, 0.08])
def test_a_lens_moves_places_by_its_formula_from_the_middle(lens: float) -> None:
    whole = at_middles(camera(flat(MIDDLES), turned(10, 5, 0)), SIZE)
    seen = (
        Place(whole.matrix, whole.middle, whole.reach, lens, whole.curl).pixels(GRID) - whole.middle
    ) / whole.reach
    straight = (whole.pixels(GRID) - whole.middle) / whole.reach
    assert np.abs(seen * (1 + lens * (seen**2).sum(axis=-1, keepdims=True)) - straight).max() < 1e-5
    assert (whole.reach, whole.middle.tolist()) == (750, [600, 450])


def test_terms_of_a_place_change_by_about_a_hundred_pixels_for_one() -> None:
    """So that least squares weigh them alike; the last two are millimetres of curl, one the lens."""
    place = at_middles(camera(flat(MIDDLES), turned(10, 5, 0)), SIZE)
    for one in np.eye(11)[:8]:
        moved = np.abs(place.changed(0.01 * one).pixels(GRID) - place.pixels(GRID)).max()
        assert 0.3 < moved < 3
    changed = place.changed(np.arange(11) * 0.01)
    assert (changed.lens, changed.curl.tolist()) == (pytest.approx(0.08), pytest.approx([0.09, 0.1]))


@pytest.fixture(scope="module")
def grey() -> np.ndarray:
    return ndimage.gaussian_filter(drawn().astype(float), 1.2).astype(np.uint8)


def off_mm(place: Place) -> float:
    """Return how far the field's places are off at worst."""
    left, top, right, low = FIELD
    x, y = np.meshgrid(np.linspace(left, right, 9), np.linspace(top, low, 9))
    mm = np.stack([x, y], axis=-1)
    return float(np.linalg.norm(place.pixels(mm) - true(mm), axis=-1).max() / 3)


@pytest.mark.parametrize("off", [(0.0, 0.0), (0.9, -0.6), (-1.0, 1.0)])
def test_a_guess_a_millimetre_off_is_put_right_from_straight_above(
    grey: np.ndarray, off: tuple[float, float]
) -> None:
    """As by a scanner: lens, curl and scale look alike there, and none of them may run away."""
    guess = lying(grey, off_mm=off)
    place = placed(grey, guess)
    assert off_mm(guess) == pytest.approx(np.hypot(*off), abs=1e-6)
    assert off_mm(place) < 0.1
    assert place.off_mm < 0.1
    assert abs(place.lens) < 0.02
    assert np.abs(place.curl).max() < 2


def test_strokes_and_a_thumb_do_not_move_it(grey: np.ndarray) -> None:
    scribbled = grey.copy()
    (x, y), (u, v) = (np.rint(true(np.array(place))).astype(int) for place in ((60, 60), (63, 260)))
    scribbled[y:v, x:u] = 30  # a stroke over the field's lower line
    scribbled[:120, :120] = 150  # a thumb on the first mark
    assert off_mm(placed(scribbled, lying(grey, off_mm=(0.5, 0.3)))) < 0.1


def test_a_stroke_beside_the_line_is_left_out(grey: np.ndarray) -> None:
    """Where the line is rubbed out and drawn again 1.5 mm within, 70 mm long, nothing is measured."""
    again = grey.copy()
    (x, y), (u, v) = (np.rint(true(np.array(place))).astype(int) for place in ((-1, 70), (1, 140)))
    again[y:v, x - 2 : u + 8] = 240
    again[y:v, x + 6 : x + 9] = 20
    assert off_mm(placed(again, lying(again))) < 0.1


def test_where_nothing_is_printed_the_edges_are_off() -> None:
    noise = np.random.default_rng(2).integers(0, 256, (822, 612)).astype(np.uint8)
    assert placed(noise, lying(noise)).off_mm > 0.1
