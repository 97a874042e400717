"""Paper that was drawn on: known by what a sheet has, each of which is taken away here in turn."""

from __future__ import annotations

import numpy as np
import pytest

from reliefsmith.artwork.inkedpaper import shows_paper

TABLE, PAPER, INK = (90, 60, 40), (235, 233, 225), (30, 40, 120)


def shown(paper: tuple[int, int, int] = PAPER, ink: tuple[int, int] = (30, 40), calm: bool = True) -> bool:
    """Tell of a sheet of 80 x 100 px on a table of 120 x 160 that has ink of some size."""
    rgb = np.full((120, 160, 3), TABLE, np.uint8)
    rgb[20:100, 30:130] = paper
    rgb[50 : 50 + ink[0], 60 : 60 + ink[1]] = INK
    return shows_paper(rgb, np.full((120, 160), calm))


@pytest.mark.parametrize("paper", [PAPER, (180, 180, 180), (240, 225, 190), (255, 255, 255)])
def test_light_greyish_paper_that_encloses_ink_is_told_in_any_light(paper: tuple[int, int, int]) -> None:
    assert shown(paper)


@pytest.mark.parametrize(
    "paper", [(240, 220, 60), (230, 120, 120), (70, 70, 70)], ids=["yellow", "pink", "dark"]
)
def test_what_is_colored_or_dark_is_no_paper(paper: tuple[int, int, int]) -> None:
    assert not shown(paper)


@pytest.mark.parametrize(("ink", "drawn_on"), [((0, 0), False), ((12, 13), False), ((10, 16), True)])
def test_ink_is_a_fiftieth_of_the_sheet_at_least(ink: tuple[int, int], drawn_on: bool) -> None:
    """80 x 100 px: 160 of them."""
    assert shown(ink=ink) is drawn_on


def test_rough_ground_is_none() -> None:
    assert not shown(calm=False)


@pytest.mark.parametrize(("side", "large"), [(40, True), (38, False)])
def test_a_sheet_is_a_twelfth_of_the_picture_at_least(side: int, large: bool) -> None:
    """.08 of 19,200 px is 1,536; ink of 10 x 10 is enclosed and does not count."""
    rgb = np.full((120, 160, 3), TABLE, np.uint8)
    rgb[20 : 20 + side + 2, 30 : 30 + side] = PAPER
    rgb[30:40, 40:50] = INK
    assert (side * (side + 2) - 100 >= 1536) is large
    assert shows_paper(rgb, np.ones((120, 160), bool)) is large


def test_ink_that_is_open_to_the_outside_makes_no_sheet() -> None:
    """A wall with a window in its corner, or an L: not convex, though it encloses something."""
    rgb = np.full((120, 160, 3), PAPER, np.uint8)
    rgb[:70, :90] = TABLE
    rgb[80:110, 100:140] = INK
    assert not shows_paper(rgb, np.ones((120, 160), bool))


def test_the_picture_may_be_all_paper_and_a_light_place_raises_what_counts_as_paper() -> None:
    rgb = np.full((120, 160, 3), (110, 110, 110), np.uint8)
    rgb[50:80, 60:100] = INK
    assert shows_paper(rgb, np.ones((120, 160), bool))
    rgb[:, :20] = 255  # a window beside it: the grey is a shadowed wall by its light
    assert not shows_paper(rgb, np.ones((120, 160), bool))
