"""What may be a sheet is proposed: round light groups, with corners that are clipped or hidden put back."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw

from reliefsmith.artwork.sheet import sheetoutlines
from reliefsmith.artwork.sheet.sheetoutlines import _four_sides, outlines
from reliefsmith.artwork.sheet.sides import grain_of

from .easy import off_px
from .pictures import PAPER, QUAD, SIZE, TABLE, lab_of, shown


@pytest.fixture
def groups_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without lines between which sheets are looked for too: what is found then comes from groups."""
    monkeypatch.setattr(sheetoutlines, "between_lines", lambda *_: np.empty((0, 4, 2)))


def nearest(rgb: np.ndarray) -> float:
    lab = lab_of(rgb, noise=0.3)
    quads = outlines(lab, grain_of(lab))
    return min((off_px(quad, QUAD) for quad in quads), default=np.inf)


@pytest.mark.parametrize(
    ("paper", "table"),
    [
        (PAPER, TABLE),
        ((150, 150, 150), (90, 60, 30)),
        ((200, 200, 200), (240, 120, 120)),
        ((150, 170, 240), (240, 240, 180)),
    ],
    ids=["light", "grey on brown", "pale on bright", "unlike"],
)
def test_a_sheet_is_proposed_by_light_by_paleness_or_by_unlikeness(
    groups_alone: None, paper: tuple[int, int, int], table: tuple[int, int, int]
) -> None:
    assert nearest(shown(paper=paper, table=table)) < 3


@pytest.mark.parametrize(("corner", "how"), [(0, "clipped"), (1, "hidden"), (2, "clipped"), (3, "hidden")])
def test_a_corner_comes_back(groups_alone: None, corner: int, how: str) -> None:
    """A dog-ear or a thumb: the sides beside it are prolonged until they meet."""
    image = Image.fromarray(shown())
    draw, (x, y) = ImageDraw.Draw(image), QUAD[corner]
    if how == "clipped":
        others = [QUAD[corner] + 0.12 * (QUAD[(corner + turn) % 4] - QUAD[corner]) for turn in (1, 3)]
        draw.polygon([(x, y), *(tuple(one) for one in others)], fill=TABLE)
    else:
        draw.ellipse([x - 8, y - 8, x + 8, y + 8], fill=(130, 80, 60))
    assert nearest(np.asarray(image)) < 5


def test_a_strip_that_touches_it_and_a_picture_on_it_do_not_count(groups_alone: None) -> None:
    """A light check of the cloth, 8 px wide, from the sheet to the rim; a drawing leaves a hole in it."""
    image = Image.fromarray(shown())
    draw = ImageDraw.Draw(image)
    draw.rectangle([100, 0, 108, 45], fill=PAPER)
    draw.ellipse([95, 60, 150, 110], fill=(200, 60, 40))
    assert nearest(np.asarray(image)) < 4


def test_proposals_are_whole_and_each_is_there_once() -> None:
    lab = lab_of(shown(), noise=0.3)
    quads = outlines(lab, grain_of(lab))
    for at, quad in enumerate(quads):
        polygon = shapely.Polygon(quad)
        assert polygon.is_valid
        assert polygon.area > 0.05 * SIZE[0] * SIZE[1]
        assert np.argmin(quad.sum(axis=1)) == 0
        assert all(np.abs(quad - other).max() > 2.5 for other in quads[:at])


def test_an_even_picture_has_none() -> None:
    even = np.full((*SIZE[::-1], 3), 60.0)
    assert outlines(even, 0.35).shape == (0, 4, 2)


def test_four_sides_of_a_hull_cost_the_least_area() -> None:
    """An octagon that is a square with its corners cut: the square comes back. Of a line there are none."""
    square = np.array([[0, 0], [90, 0], [90, 90], [0, 90]], float)
    cut = np.array([[9, 0], [81, 0], [90, 12], [90, 81], [78, 90], [9, 90], [0, 81], [0, 12]], float)
    assert off_px(_four_sides(cut), square) < 1e-6
    assert _four_sides(np.array([[0, 0], [5, 5], [9, 9]], float)) is None


@pytest.mark.parametrize("seed", range(4))
def test_sides_are_dropped_one_by_one_the_cheapest_of_all_first(seed: int) -> None:
    """With every cost reckoned anew each time, by shapely: the area that is added."""
    random = np.random.default_rng(seed)
    points = random.normal(0, 1, (60, 2)) * (60, 40)
    ring = shapely.get_coordinates(shapely.orient_polygons(shapely.MultiPoint(points).convex_hull))[:-1]
    while len(ring) > 4:
        best = None
        for at in range(len(ring)):
            a, b, c, d = (ring[(at + step) % len(ring)] for step in (-1, 0, 1, 2))
            turn = np.cross(np.append(b - a, 0), np.append(c - d, 0))[2]
            along = np.cross(np.append(c - b, 0), np.append(c - d, 0))[2] / turn
            if along < 0:
                continue
            corner = b + along * (b - a)
            cost = shapely.Polygon([b, corner, c]).area
            if best is None or cost < best[0]:
                best = cost, at, corner
        _, at, corner = best
        ring[at] = corner
        ring = np.delete(ring, (at + 1) % len(ring), axis=0)
    assert off_px(_four_sides(points), ring) < 1e-6
