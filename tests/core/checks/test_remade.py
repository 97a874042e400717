"""What was done to a part since it was made is told; nothing is told of one that was left alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import affinity

import reliefsmith as rs
from reliefsmith.checks.remade import _apart, _outline, _underside, compare_parts
from reliefsmith.jobs.checking import check_parts
from reliefsmith.mesh import cut
from reliefsmith.model import Part
from reliefsmith.walk.store import MemoryStore
from tiers import broad

SAMPLES = Path(__file__).parents[3] / "samples"
STORE = MemoryStore()


@pytest.fixture(scope="module", params=["lantern.png", "kite.png"])
def made(request: pytest.FixtureRequest, unadvised: None) -> tuple[Part, ...]:
    return rs.make(SAMPLES / request.param, store=STORE).parts


def changed(parts: tuple[Part, ...], index: int, change: Callable[[np.ndarray], np.ndarray]) -> list[Part]:
    """The parts with the vertices of one of them changed."""
    found = list(parts)
    found[index] = replace(found[index], vertices=change(found[index].vertices.copy()))
    return found


def turned(vertices: np.ndarray, degrees: float, axis: int) -> np.ndarray:
    """Vertices turned about an axis through the middle of their box."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    a, b = ((1, 2), (2, 0), (0, 1))[axis]
    matrix = np.eye(3)
    matrix[[a, a, b, b], [a, b, a, b]] = c, -s, s, c
    middle = (vertices.min(axis=0) + vertices.max(axis=0)) / 2
    return (vertices - middle) @ matrix.T + middle


def raised(vertices: np.ndarray, rise: float) -> np.ndarray:
    """Vertices with the highest of them raised."""
    vertices[vertices[:, 2] > vertices[:, 2].max() - 1e-6, 2] += rise
    return vertices


def codes(made: tuple[Part, ...], now: list[Part]) -> list[str]:
    return sorted(item.code for item in compare_parts(made, now, rs.Recipe().heights))


DEFECTS: dict[str, tuple[Callable[[np.ndarray], np.ndarray], set[str]]] = {
    "sideways": (lambda v: v + np.array([0.03, 0, 0]), {"part-moved"}),
    "along": (lambda v: v + np.array([0, -0.05, 0]), {"part-moved"}),
    "up": (lambda v: v + np.array([0, 0, 0.1]), {"part-moved"}),
    "away": (lambda v: v + np.array([90.0, 0, 0]), {"part-moved"}),
    "doubled": (lambda v: 2 * v, {"part-scaled"}),
    "wider": (lambda v: v * (1.01, 1, 1), {"part-scaled"}),
    "flatter": (lambda v: v * (1, 1, 0.8), {"part-taller"}),
    "tipped": (lambda v: turned(v, 0.3, 0), {"part-tilted"}),
    "rolled": (lambda v: turned(v, 1.0, 1), {"part-tilted"}),
    "turned": (lambda v: turned(v, 2.0, 2), {"part-reshaped"}),
    "off the layers": (lambda v: raised(v, 0.07), {"off-layers", "part-taller"}),
    "tall": (lambda v: raised(v, 10.0), {"part-taller"}),
}


def test_untouched_parts_are_not_spoken_of(made: tuple[Part, ...]) -> None:
    single = [replace(part, vertices=part.vertices.astype(np.float32).astype(float)) for part in made]
    assert codes(made, single) == []
    assert "solids-cross" not in {item.code for item in check_parts(made)}


@pytest.mark.parametrize(
    ("style", "top"),
    broad(
        [
            ("raised", "chamfer"),
            ("raised", "crown"),
            ("flush", "flat"),
            ("sunk", "flat"),
            ("stepped", "flat"),
        ],
        lambda case: case[1] == "flat",  # of sloped ones test_defects.py has the kite's
    ),
)
def test_nothing_is_invented_on_other_styles_and_tops(style: str, top: str) -> None:
    recipe = rs.Recipe().with_values({"heights.style": style, "heights.top": top})
    parts = rs.make(SAMPLES / "lantern.png", recipe, store=STORE).parts
    single = [replace(part, vertices=part.vertices.astype(np.float32).astype(float)) for part in parts]
    assert compare_parts(parts, single, recipe.heights) == ()
    assert "solids-cross" not in {item.code for item in check_parts(parts, recipe)}


@pytest.mark.parametrize("name", DEFECTS)
@pytest.mark.parametrize("index", broad([0, 1, 2], lambda index: index < 2))
def test_what_was_done_to_a_part_is_told(made: tuple[Part, ...], name: str, index: int) -> None:
    change, expected = DEFECTS[name]
    now = changed(made, index, change)
    found = compare_parts(made, now, rs.Recipe().heights)
    assert expected <= {item.code for item in found}
    assert {item.message.split()[0] for item in found if item.code != "off-layers"} == {made[index].name}
    assert all(item.at_mm is not None for item in found)


def test_a_shift_within_the_grids_is_none(made: tuple[Part, ...]) -> None:
    assert codes(made, changed(made, 1, lambda v: v + np.array([0.005, 0.005, 0]))) == []


def test_figures_are_right(made: tuple[Part, ...]) -> None:
    name = made[1].name
    (moved,) = compare_parts(
        made, changed(made, 1, lambda v: v + np.array([0.3, 0, 0.4])), rs.Recipe().heights
    )[:1]
    assert moved.message == f"{name} is 0.50 mm from where it was made (0.30, 0.00, 0.40 mm)."
    (scaled,) = (
        item
        for item in compare_parts(made, changed(made, 1, lambda v: v * (1.5, 1.25, 1)), rs.Recipe().heights)
        if item.code == "part-scaled"
    )
    assert scaled.message == f"{name} is scaled by 1.5 in x and 1.25 in y."
    (tilted,) = (
        item
        for item in compare_parts(made, changed(made, 1, lambda v: turned(v, 0.7, 0)), rs.Recipe().heights)
        if item.code == "part-tilted"
    )
    assert tilted.message == f"{name} is tilted by 0.70 degrees."


def toothed(depth: float) -> shapely.MultiPolygon:
    """A plate of 20 x 20 mm with 100 teeth up and down its right side."""
    side = np.column_stack([10 + depth * (np.arange(201) % 2), np.linspace(-10, 10, 201)])
    return shapely.MultiPolygon([shapely.Polygon([(-10, 10), (-10, -10), *side])])


def test_an_outline_is_measured_by_its_length_as_it_was_made() -> None:
    """Teeth of 1 mm add 10 mm2 to an outline of 80 mm, so it lies .2 mm off; their own outline is 260 mm."""
    plain, teeth = toothed(0.0), toothed(1.0)
    assert _apart(plain, teeth) == pytest.approx(np.pi / 2 * 10 / 80, rel=1e-3)
    part = boxes((0, 0, 0, 2))
    for depth, expected in ((0.4, ["part-reshaped"]), (0.2, [])):
        assert [item.code for item in _outline(part, part, plain, toothed(depth))] == expected


def test_what_keeps_its_size_within_the_placing_is_not_called_scaled() -> None:
    """Notches that remeshing could leave, on a plate .018 mm larger: scaled back, the plate would fit."""
    plain = toothed(0.0)
    now = affinity.scale(toothed(-0.08), 1 + 0.018 / 20, 1 + 0.018 / 20, origin=(0, 0))
    assert 0.02 < _apart(plain, now) < 0.05
    assert _outline(boxes((0, 0, 0, 2)), boxes((0, 0, 0, 2)), plain, now) == []


def test_a_part_without_an_underside_is_compared_by_its_lowest_point() -> None:
    roof = replace(boxes((0, 0, 3, 2)), triangles=np.array([(4, 5, 7), (4, 7, 6)], np.int32))
    height, slope = _underside(roof)
    assert height == 3.0
    assert slope.tolist() == [0.0, 0.0]


def test_missing_parts_and_strange_ones_are_told(made: tuple[Part, ...]) -> None:
    assert codes(made, list(made[:-1])) == ["part-missing"]
    box = boxes((0.0, 0.0, 9.0, 1.0))
    assert codes(made, [*made, box]) == ["solid-added"]


def boxes(*places: tuple[float, float, float, float]) -> Part:
    """A part of cubes: the lower corner and the edge of each."""
    corner = np.array([(x, y, z) for z in (0, 1) for y in (0, 1) for x in (0, 1)], float)
    faces = [(0, 2, 3), (0, 3, 1), (4, 5, 7), (4, 7, 6), (0, 1, 5), (0, 5, 4)]
    faces += [(2, 6, 7), (2, 7, 3), (0, 4, 6), (0, 6, 2), (1, 3, 7), (1, 7, 5)]
    vertices = [np.array([x, y, z]) + edge * corner for x, y, z, edge in places]
    triangles = [np.array(faces) + 8 * index for index in range(len(places))]
    return Part(
        "box", "motif", (1, 2, 3), np.concatenate(vertices), np.concatenate(triangles).astype(np.int32)
    )


@pytest.mark.parametrize(
    ("places", "crosses"),
    [
        (((0, 0, 0, 2), (1, 1, 0, 2)), True),
        (((0, 0, 0, 9), (3, 3, 3, 2)), True),
        (((0, 0, 0, 2), (0, 0, 0, 2)), True),
        (((0, 0, 0, 2), (2, 0, 0, 2)), False),
        (((0, 0, 0, 2), (0, 0, 2, 2)), False),
        (((0, 0, 0, 2), (5, 5, 0, 2)), False),
    ],
)
def test_bodies_that_cross_are_told(places: tuple[tuple[float, ...], ...], crosses: bool) -> None:
    part = boxes(*places)
    assert ("solids-cross" in [item.code for item in check_parts([part])]) == crosses


def test_a_hollow_body_does_not_cross_itself() -> None:
    hollow = boxes((0, 0, 0, 9), (3, 3, 3, 2))
    flipped = hollow.triangles.copy()
    flipped[12:] = flipped[12:, ::-1]
    found = check_parts([replace(hollow, triangles=flipped)])
    assert "solids-cross" not in {item.code for item in found}


def folded(rise: float) -> Part:
    """A block of 6 x 6 x 2 whose top is a grid of 1 mm, a point of which is moved down by 2 mm + `rise`."""
    corners = np.array([(x, y, 2.0) for y in range(7) for x in range(7)])
    below = corners * (1, 1, 0)
    n = len(corners)
    quads = [7 * y + x for y in range(6) for x in range(6)]
    top = [row for q in quads for row in ((q, q + 1, q + 8), (q, q + 8, q + 7))]
    rim = [*range(7), *range(13, 49, 7), *range(47, 41, -1), *range(35, 0, -7)]
    pairs = list(zip(rim, [*rim[1:], rim[0]], strict=True))
    walls = [row for a, b in pairs for row in ((n + a, n + b, b), (n + a, b, a))]
    corners[24, 2] -= 2.0 + rise
    faces = [*top, *((n + c, n + b, n + a) for a, b, c in top), *walls]
    return Part("base", "base", (1, 2, 3), np.concatenate([corners, below]), np.array(faces, np.int32))


@pytest.mark.parametrize(("rise", "crosses"), [(-0.5, False), (0.5, True), (1.5, True)])
def test_a_top_carved_through_the_bottom_is_told(rise: float, crosses: bool) -> None:
    assert ("solids-cross" in {item.code for item in check_parts([folded(rise)])}) == crosses


def test_the_volume_of_bodies_that_cross_counts_once() -> None:
    one, other = boxes((0, 0, 0, 2)), boxes((0, 0, 0, 2), (1, 1, 0, 2))
    assert cut(other.vertices, other.triangles, 1.0).area == 7.0
    assert cut(one.vertices, one.triangles, 1.0).area == 4.0


@pytest.mark.parametrize(("wide", "severity"), [(0.009, None), (0.02, "note"), (0.05, "stop")])
def test_a_hair_of_overlap_is_a_note(wide: float, severity: str | None) -> None:
    one = replace(boxes((0, 0, 0, 1)), name="base", role="base")
    found = check_parts([one, boxes((1 - wide, 0, 0, 1))])
    said = [str(item.severity) for item in found if item.code == "parts-overlap"]
    assert said == ([severity] if severity else [])


@pytest.mark.parametrize(("wide", "severity"), [(0.14, "note"), (0.2, "stop")])
def test_a_crumb_of_overlap_as_remeshed_neighbors_share_is_a_note(wide: float, severity: str) -> None:
    one = replace(boxes((0, 0, 0, 1)), name="base", role="base")
    found = check_parts([one, boxes((1 - wide, 1 - wide, 0, 1))])
    assert [str(item.severity) for item in found if item.code == "parts-overlap"] == [severity]


def test_a_piece_that_does_not_hang_has_no_hole_to_judge() -> None:
    plate = [replace(boxes((0, 0, 0, 9)), name="base", role="base")]
    without = rs.Recipe().with_values({"hang.hardware": "none"})
    assert "hole-missing" in {item.code for item in check_parts(plate)}
    assert not {"hole-missing", "hole-wall-weak"} & {item.code for item in check_parts(plate, without)}
