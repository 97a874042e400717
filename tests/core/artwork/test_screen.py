"""Screenshots: told by their first line, whichever side it is on, and cut down to what stands on them."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.artwork.screen import emblem_box, is_screen

PAGE, INK, RED = (250, 250, 250), (20, 20, 20), (200, 30, 40)
SIZE = (900, 500)


def screen(gap: int = 0, height: int = 12, top: int = 10, clock: tuple[int, int] = (20, 70)) -> np.ndarray:
    """Return a telephone's screen: a clock at the left, signs at the right, nothing else."""
    rgb = np.full((*SIZE, 3), PAGE, np.uint8)
    rgb[top : top + height, clock[0] : clock[1]] = INK
    rgb[top : top + height, 400 - gap : 425] = INK
    rgb[top : top + height, 440:450] = INK
    rgb[top : top + height, 460:480] = INK
    return rgb


def badge(rgb: np.ndarray, box: tuple[int, int, int, int], color: tuple[int, int, int] = RED) -> np.ndarray:
    """Return a picture with a disc that fills a box of it."""
    left, top, right, low = box
    rows, columns = np.mgrid[: rgb.shape[0], : rgb.shape[1]] + 0.5
    on = ((columns - (left + right) / 2) / (right - left)) ** 2 + (
        (rows - (top + low) / 2) / (low - top)
    ) ** 2 <= 0.25
    return np.where(on[..., None], color, rgb).astype(np.uint8)


@pytest.mark.parametrize("turns", range(4))
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_first_line_is_told_at_every_side(turns: int, mirrored: bool) -> None:
    rgb = screen()[:, :: -1 if mirrored else 1]
    assert is_screen(np.rot90(rgb, turns))


@pytest.mark.parametrize(
    ("rgb", "known"),
    [
        (np.full((*SIZE, 3), PAGE, np.uint8), False),
        (screen(top=0), False),  # it touches the edge
        (screen(height=3), False),
        (screen(height=4), True),
        (screen(height=45), True),  # a twentieth of 900
        (screen(height=46), False),
        (screen(gap=232), False),  # the widest gap is under a fifth of the width
        (screen(gap=231), True),
        (screen(clock=(160, 200)), False),  # nothing in the first 30 %
    ],
)
def test_the_line_is_low_off_the_edge_and_has_a_wide_gap(rgb: np.ndarray, known: bool) -> None:
    assert is_screen(rgb) is known


def test_ornaments_in_two_corners_mirror_each_other() -> None:
    """Of a certificate or a card: as much at one end as at the other, in the same columns."""
    rgb = np.full((*SIZE, 3), PAGE, np.uint8)
    rgb[10:22, 20:70] = rgb[10:22, -70:-20] = INK
    assert not is_screen(rgb)


BOX = (150, 300, 350, 500)


def test_an_emblem_is_cut_out_with_some_ground() -> None:
    """A disc of 200 px: 5 % of it all round, to the two pixels of a cell."""
    box = emblem_box(badge(screen(), BOX))
    assert box is not None
    assert np.abs(np.array(box) - (140, 290, 360, 510)).max() <= 2


def test_ground_is_kept_half_way_to_what_stands_beside_it() -> None:
    """A rectangle, which is never one with others, 12 px above the disc: ground of 6 px all round."""
    rgb = badge(screen(), (150, 300, 450, 600))
    rows, columns = np.mgrid[:100, :300]
    rgb[188:288, 150:450] = np.stack([60 + rows, 90 + columns // 3, 40 + 0 * rows], axis=-1)
    box = emblem_box(rgb)
    assert box is not None
    assert np.abs(np.array(box) - (144, 294, 456, 606)).max() <= 2


@pytest.mark.parametrize(("box", "found"), [((220, 400, 300, 480), True), ((230, 410, 290, 470), False)])
def test_what_is_under_a_hundredth_of_the_screen_is_no_emblem(
    box: tuple[int, int, int, int], found: bool
) -> None:
    """450,000 px: a box of 80 x 80 is more, of 60 x 60 less."""
    assert (emblem_box(badge(screen(), box)) is not None) is found


def test_bars_and_what_lies_at_the_rim_are_no_emblem() -> None:
    rgb = screen()
    rgb[:100] = rgb[-150:] = (40, 90, 160)  # a head and a foot from side to side
    assert emblem_box(rgb) is None
    rgb[400:600, :60] = RED  # in the outermost 63 px
    assert emblem_box(rgb) is None
    found = emblem_box(badge(rgb, BOX))
    assert found is not None
    assert found[1] >= 280


def test_letters_near_each_other_are_one_emblem() -> None:
    rgb = screen()
    for at in range(5):
        rgb[400 - 6 * at : 460 + 6 * at, 120 + 50 * at : 150 + 50 * at] = RED
    box = emblem_box(rgb)
    assert box is not None
    assert np.abs(np.array(box) - (108, 364, 362, 496)).max() <= 2  # 12 px of ground round 230 x 108


def test_what_touches_at_a_corner_is_one_thing() -> None:
    """Two squares as large as cards: apart each would be a picture of its own."""
    rgb = screen()
    rows, columns = np.mgrid[:100, :100]
    for left, top in ((150, 400), (250, 500)):
        rgb[top : top + 100, left : left + 100] = np.stack([60 + rows, 90 + columns, 40 + 0 * rows], axis=-1)
    box = emblem_box(rgb)
    assert box is not None
    assert np.abs(np.array(box) - (140, 390, 360, 610)).max() <= 2


def test_a_rectangle_is_a_picture_and_is_cut_within_its_edges() -> None:
    rgb = screen()
    rows, columns = np.mgrid[:240, :260]
    rgb[300:540, 120:380] = np.stack([60 + rows // 2, 90 + columns // 3, 40 + 0 * rows], axis=-1)
    box = emblem_box(rgb)
    assert box is not None
    assert np.abs(np.array(box) - (123, 303, 377, 537)).max() <= 1  # three pixels may be soft


def test_a_mirrored_screen_has_the_mirrored_emblem() -> None:
    rgb = badge(screen(), (120, 300, 320, 500))
    there, here = emblem_box(rgb[:, ::-1]), emblem_box(rgb)
    assert there is not None
    assert here is not None
    assert np.abs(np.array([500 - there[2], there[1], 500 - there[0], there[3]]) - here).max() <= 2
