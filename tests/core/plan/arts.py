"""Small artworks for the tests of the plan, made from shapes in mm, and the whole walk of a plan."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from hypothesis import strategies as st

from oracles import coverage_faults
from reliefsmith.findings import Finding, Note
from reliefsmith.model import FlatAreas, Frame, Plan
from reliefsmith.plan import connect, hang, outline, repair
from reliefsmith.polygons import as_multi, noded_coverage, on_grid, polygons_of, without_openings
from reliefsmith.recipe import Recipe

RED, BLUE, WHITE, BLACK, YELLOW = (200, 30, 30), (20, 60, 200), (255, 255, 255), (10, 10, 10), (250, 220, 40)
COLORS = (RED, BLUE, YELLOW, WHITE, BLACK)
CREAM = (252, 250, 244)
RING = shapely.Point(0, 0).buffer(20) - shapely.Point(0, 0).buffer(12)


def flat(*painted: tuple[tuple[int, int, int], shapely.Geometry]) -> FlatAreas:
    """Return areas painted in order, later ones over earlier ones, as the scale stage hands them on."""
    top = shapely.Polygon()
    seen: dict[tuple[int, int, int], list[shapely.Geometry]] = {}
    for color, shape in reversed(painted):
        seen.setdefault(color, []).insert(0, shape.difference(top))
        top = top.union(shape)
    colors = [color for color in dict.fromkeys(color for color, _ in painted) if color in seen]
    polygons = noded_coverage([as_multi(shapely.union_all(seen[color])) for color in colors])
    left, low, right, high = shapely.total_bounds(list(polygons))
    frame = Frame(0.1, (0.0, 0.0), 0.0, (1000, 1000))
    return FlatAreas(polygons, np.array(colors, np.uint8), frame, (right - left, high - low))


def on_paper(*painted: tuple[tuple[int, int, int], shapely.Geometry]) -> FlatAreas:
    """Return art on cream paper: what it encloses is ground."""
    art = shapely.union_all([shape for _, shape in painted])
    inside = without_openings(art).difference(art)
    if inside.is_empty:
        return replace(flat(*painted), ground=CREAM)
    areas = flat((CREAM, inside), *painted)
    return replace(areas, ground=CREAM, enclosed=0)


def shown_at(plan: Plan, x: float, y: float) -> tuple[int, int, int] | None:
    """Return the color that the piece shows at a place, seen from above; None for open air."""
    place = shapely.Point(x, y)
    motif = next((item.color for item in plan.motifs if item.polygon.contains(place)), None)
    return motif or (plan.base_color if plan.base.contains(place) else None)


def outlined(areas: FlatAreas, recipe: Recipe | None = None) -> Plan:
    r = recipe or Recipe()
    made = {"printer": r.printer, "pieces": r.pieces}
    return outline(areas, base=r.base, colors=r.colors, outline_marks=r.outline_marks, **made)


def repaired(areas: FlatAreas, recipe: Recipe | None = None) -> Plan:
    r = recipe or Recipe()
    marks = {"outline_marks": r.outline_marks, "stroke_marks": r.stroke_marks}
    return repair(outlined(areas, r), base=r.base, motif=r.motif, printer=r.printer, **marks)


def connected(areas: FlatAreas, recipe: Recipe | None = None, mended: Plan | None = None) -> Plan:
    """Connect the pieces of what was repaired; where a test has that already it is not made again."""
    r = recipe or Recipe()
    return connect(mended or repaired(areas, r), pieces=r.pieces, base=r.base, link_marks=r.link_marks)


def hung(areas: FlatAreas, recipe: Recipe | None = None, joined: Plan | None = None) -> Plan:
    """Hang what was connected; where a test has that already it is not made again."""
    r = recipe or Recipe()
    return hang(joined or connected(areas, r), hang=r.hang, heights=r.heights, printer=r.printer, base=r.base)


def codes(items: Iterable[Finding | Note]) -> list[str]:
    """Return the codes of findings or notes."""
    return [item.code for item in items]


def assert_in_register(plan: Plan) -> None:
    """Base and motifs are on the grid, motifs apart, inside the base, and share vertices with its rest."""
    motifs = [motif.polygon for motif in plan.motifs]
    assert plan.base.is_valid
    assert on_grid(plan.base)
    rest = plan.base.difference(shapely.union_all(motifs)) if motifs else plan.base
    assert coverage_faults([*motifs, as_multi(rest)]) == ()
    for motif in motifs:
        assert motif.difference(plan.base).area == 0
        assert not motif.is_empty
    assert all(motif.color != plan.base_color for motif in plan.motifs)
    areas = [motif.area for motif in motifs]
    assert areas == sorted(areas, reverse=True)


def blobs(count: int, seed: int, spread: float, size: float) -> list[shapely.Polygon]:
    """Return discs, bars and triangles strewn by a fixed rule of the seed."""
    rng = np.random.default_rng(seed)
    shapes: list[shapely.Polygon] = []
    for _ in range(count):
        x, y = rng.uniform(-spread, spread, 2)
        kind, r = int(rng.integers(3)), size * rng.uniform(0.3, 1.0)
        if kind == 0:
            shapes.append(shapely.Point(x, y).buffer(r, quad_segs=8))
        elif kind == 1:
            ends = np.array([[x, y], [x + 2 * r, y + r]])
            shapes.append(shapely.LineString(ends).buffer(r * rng.uniform(0.05, 0.3), cap_style="flat"))
        else:
            shapes.append(shapely.Polygon(np.array([x, y]) + r * rng.normal(size=(3, 2))).buffer(0.05))
    return polygons_of(shapes)


@st.composite
def artworks(draw: st.DrawFn) -> FlatAreas:
    """Draw artworks of one to four colors: shapes of all sizes strewn over 30 to 60 mm."""
    count = draw(st.integers(2, 9))
    shapes = blobs(count, draw(st.integers(0, 10_000)), draw(st.floats(8, 25)), draw(st.floats(2, 12)))
    colors: Sequence[tuple[int, int, int]] = COLORS[: draw(st.integers(1, 4))]
    return flat(*((colors[index % len(colors)], shape) for index, shape in enumerate(shapes)))
