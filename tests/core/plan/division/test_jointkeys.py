"""Keys along seams: what each must suit."""

from __future__ import annotations

import pytest
import shapely

from reliefsmith.plan.division.jointkeys import APART_MM, KEY_WALL_MM, REACHES_MM, _Around, keys_of, outline
from reliefsmith.recipe.sections import SeamSettings

NOTHING, GAP = shapely.MultiPolygon(), 0.2
OWN, OTHER = shapely.box(-20, -20, 20, 0), shapely.box(-20, 0, 20, 20)


def takes(
    own: shapely.Geometry = OWN,
    other: shapely.Geometry = OTHER,
    barred: shapely.Geometry = NOTHING,
    reach: float = 4.0,
    x: float = 0.0,
) -> bool:
    key = shapely.affinity.translate(shapely.Polygon(outline("hammer", reach)), x, 0.0)
    root = shapely.clip_by_rect(key, -50, -50, 50, 0)
    return _Around(own, other, barred, GAP).takes(key, root)


def test_a_key_keeps_a_wall_to_the_outside_and_to_what_it_avoids() -> None:
    side = 0.55 * 4.0 + GAP + KEY_WALL_MM
    assert takes(x=20 - side - 0.05)
    assert not takes(x=20 - side + 0.05)
    assert takes(barred=shapely.Point(side + 0.05, 3.0))
    assert not takes(barred=shapely.Point(side - 0.05, 3.0))


def test_a_key_stands_in_its_own_cell_and_reaches_into_the_other() -> None:
    bent = shapely.Polygon([(-20, -20), (20, -20), (20, 0.4), (-20, -0.4)])
    assert takes(bent, shapely.box(-20, -20, 20, 20).difference(bent))
    steep = shapely.Polygon([(-20, -20), (20, -20), (20, 9), (-20, -9)])
    assert not takes(steep, shapely.box(-20, -20, 20, 20).difference(steep))


def test_a_key_cuts_nothing_off_the_other_cell() -> None:
    """The other cell has a narrow waist just beyond the key's head, then goes on."""
    own = shapely.box(-20, -20, 20, 20).difference(OTHER)
    other = OTHER.difference(shapely.box(-20, 6.2, -1, 7)).difference(shapely.box(1, 6.2, 20, 7))
    assert takes(own, other, reach=3.0)
    gone = shapely.union_all([OTHER, own])
    assert not _Around(own, other, NOTHING, GAP).takes(
        shapely.box(-1.2, -2, 1.2, 6.6), shapely.box(-1.2, -2, 1.2, 0)
    )
    assert gone.area == 1600


def test_keys_stand_evenly_about_fifty_millimetres_apart_the_longest_that_fit() -> None:
    cells = [shapely.box(0, 0, 150, 40), shapely.box(0, 40, 150, 80)]
    keys, loose = keys_of(cells, NOTHING, SeamSettings(), GAP)
    assert len(keys) == round(150 / APART_MM)
    assert sorted(key.shape.centroid.x for key in keys) == pytest.approx([25.0, 75.0, 125.0], abs=1.0)
    assert {round(key.shape.bounds[3] - 40, 3) for key in keys} == {REACHES_MM[0]}
    assert loose == []
    thin = [shapely.box(0, 0, 150, 40), shapely.box(0, 40, 150, 46.5)]
    keys, _ = keys_of(thin, NOTHING, SeamSettings(), GAP)
    assert {round(key.shape.bounds[3] - 40, 3) for key in keys} == {REACHES_MM[1]}


def test_a_seam_of_cells_that_hold_together_by_others_needs_no_key() -> None:
    """Four quarters; one seam is barred: three hold all."""
    cells = [shapely.box(x, y, x + 40, y + 40) for x, y in ((0, 0), (40, 0), (0, 40), (40, 40))]
    barred = shapely.box(35, 0, 45, 36)
    keys, loose = keys_of(cells, barred, SeamSettings(), GAP)
    assert {(key.owner, key.other) for key in keys} == {(0, 2), (1, 3), (2, 3)}
    assert loose == []
    both = shapely.union(barred, shapely.box(35, 44, 45, 80))
    _, loose = keys_of(cells, both, SeamSettings(), GAP)
    assert [(item.owner, item.other) for item in loose] == [(0, 1)]
