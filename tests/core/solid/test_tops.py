"""Shaped tops against closed forms: frusta, quarter ellipses, ramps; closed and apart for any picture."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw

import reliefsmith as rs
from reliefsmith.checks.independent import check_parts
from reliefsmith.checks.layerstack import cut_layers_steps, layers_of_stack
from reliefsmith.documents import cutaway as section
from reliefsmith.documents.report import parts_mapping
from reliefsmith.errors import GeometryError, RecipeError
from reliefsmith.mesh import cut, signed_volume
from reliefsmith.model import Artwork, Frame, Part
from reliefsmith.progress import drain
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import HeightSettings
from reliefsmith.solid.build import build
from reliefsmith.solid.stacking import stack
from reliefsmith.solid.tops import CHORD_MM, RIM_MM, STEP_MM, _profile
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import MemoryStore, decode, encode
from sound import assert_closed, assert_closed_as_stl, assert_sound
from tiers import Early, broad

from .plans import GOLD, NAVY, PRINTER, RED, pictures, plan_of

SAMPLES = Path(__file__).parents[3] / "samples"
PLATE = shapely.box(-20, -20, 20, 20)
SQUARE = shapely.box(-8, -8, 8, 8)
HEIGHTS = Recipe().heights


def _part(top: str, shape: shapely.Geometry = SQUARE, artwork: Artwork | None = None, **more: float) -> Part:
    """Return the only motif of a plate."""
    heights = replace(HEIGHTS, top=top, motif_mm=1.6, **more)
    stacked = stack(plan_of(PLATE, (RED, shape)), artwork, heights=heights, printer=PRINTER)
    _, motif = build(stacked)
    assert_closed(motif)
    assert_closed_as_stl(motif)
    return motif


def _volume(part: Part) -> float:
    return signed_volume(part.vertices, part.triangles)


def _frustum(outer: float, inner: float, height: float) -> float:
    """Volume of a frustum of a square pyramid: h (A + a + sqrt(A a)) / 3 (Euclid XII; any handbook)."""
    return height * (outer**2 + inner**2 + outer * inner) / 3


@pytest.mark.parametrize(("edge", "angle"), [(0.4, 45.0), (0.8, 45.0), (0.6, 30.0), (1.0, 60.0)])
def test_a_chamfered_square_is_a_box_with_a_frustum_on_it(edge: float, angle: float) -> None:
    run = edge / math.tan(math.radians(angle))
    wanted = 16.0**2 * (1.6 - edge) + _frustum(16.0, 16.0 - 2 * run, edge)
    # The inner square lies on the grid of 1 um: its side is off by 1 um at most.
    assert _volume(_part("chamfer", edge_mm=edge, edge_deg=angle)) == pytest.approx(wanted, abs=16 * 0.002)


def test_a_chamfer_is_drawn_in_at_every_height_as_much_as_its_angle_says() -> None:
    part = _part("chamfer", edge_mm=0.8)
    for z, side in ((2.4, 16.0), (3.0, 15.6), (3.4, 14.8)):
        assert cut(part.vertices, part.triangles, z).area == pytest.approx(side**2, rel=5e-4)


def test_a_crowned_disc_is_a_quarter_of_an_ellipse_turned() -> None:
    """Over a disc of radius R with reach a and rise b: pi b ((R-a)^2 + (R-a) a pi / 2 + 2 a^2 / 3)."""
    radius, reach, rise = 8.0, 2.0, 0.8
    disc = shapely.Point(0, 0).buffer(radius, quad_segs=90)
    disc = shapely.transform(disc, lambda points: np.round(points, 3))
    part = _part("crown", disc, crown_mm=rise, crown_reach_mm=reach)
    flat = radius - reach
    crown = math.pi * rise * (flat**2 + flat * reach * math.pi / 2 + 2 * reach**2 / 3)
    wanted = math.pi * radius**2 * (1.6 - rise) + crown
    assert crown - 0.06 * crown < _volume(part) - math.pi * radius**2 * 0.8 <= crown  # chords lie inside
    assert _volume(part) == pytest.approx(wanted, rel=0.01)


@pytest.mark.parametrize(("edge", "bands"), [(0.05, 1), (0.1, 1), (0.11, 2), (0.7, 7), (1.6, 16), (3.0, 16)])
def test_a_bevel_has_a_band_for_each_tenth_of_a_millimetre_up_to_sixteen(edge: float, bands: int) -> None:
    """Also where the quotient is a rounding error more than whole: .7 / .1."""
    shape = _profile(replace(HEIGHTS, top="chamfer", edge_deg=30.0), edge)
    assert shape.run_mm == pytest.approx(edge * 3**0.5)
    assert shape.inward == shape.upward == pytest.approx([(k + 1) / bands for k in range(bands)])
    assert edge / bands <= STEP_MM + 1e-9 or bands == 16


@pytest.mark.parametrize("rise", [0.05, 0.1, 0.4, 0.8, 1.6, 3.0, 9.0, 20.0])
def test_a_crown_has_as_many_bands_as_a_circle_of_its_rise_needs(rise: float) -> None:
    """Of that circle no point lies farther from its chords than CHORD_MM, and with one band less it would."""
    shape = _profile(replace(HEIGHTS, top="crown"), rise)
    count = len(shape.upward)
    chords = rise * np.column_stack([[0, *shape.inward], [0, *shape.upward]])
    turns = np.linspace(0, np.pi / 2, 1001)
    circle = rise * np.column_stack([1 - np.cos(turns), np.sin(turns)])
    off = shapely.distance(shapely.points(circle), shapely.LineString(chords)).max()
    assert off <= CHORD_MM or count == 16
    assert rise * (1 - math.cos(np.pi / 4 / (count - 1))) > CHORD_MM or count == 4
    assert chords[-1].tolist() == [rise, rise]


def test_a_top_is_never_above_its_height_nor_below_its_edge() -> None:
    for top in ("chamfer", "crown"):
        part = _part(top, edge_mm=0.8, crown_mm=0.8)
        upper = part.vertices[part.vertices[:, 2] > 2.0 + 1e-9, 2]
        assert upper.min() == pytest.approx(2.8)
        assert upper.max() == pytest.approx(3.6)


def _picture(values: np.ndarray) -> Artwork:
    rgb = np.repeat(values.astype(np.uint8)[:, :, None], 3, axis=2)
    size = (values.shape[1], values.shape[0])
    return Artwork(rgb, np.ones(values.shape, np.float32), size, 1.0, has_alpha=False, lossy=False)


def _framed(values: np.ndarray, **more: float) -> Part:
    """Return the motif of a picture that covers the plate: 40 mm over its pixels."""
    per_px = 40.0 / values.shape[0]
    frame = Frame(per_px, (values.shape[1] / 2, values.shape[0] / 2), 0.0, values.shape[::-1])
    plan = replace(plan_of(PLATE, (RED, SQUARE)), frame=frame)
    heights = replace(HEIGHTS, top="brightness", motif_mm=1.6, **more)
    _, motif = build(stack(plan, _picture(values), heights=heights, printer=PRINTER))
    assert_closed(motif)
    return motif


def test_one_brightness_gives_a_level_top() -> None:
    part = _framed(np.full((200, 200), 130))
    assert len(np.unique(part.vertices[:, 2])) == 2
    area = 16.0**2
    assert _volume(part) == pytest.approx(area * np.ptp(part.vertices[:, 2]), rel=1e-9)


@pytest.mark.parametrize("higher", ["light", "dark"])
def test_a_ramp_of_brightness_rises_to_the_side_that_is_asked_for(higher: str) -> None:
    ramp = np.tile(np.linspace(60, 200, 400), (400, 1))
    part = _framed(ramp, higher=higher)
    top = part.vertices[part.vertices[:, 2] > 2.05]
    inside = top[np.abs(top[:, :2]).max(axis=1) < 7.5]
    slope = np.polyfit(inside[:, 0], inside[:, 2], 1)[0]
    # From heights.least_mm, 0.2 mm, to the whole height over the width of the square.
    assert slope == pytest.approx(1.4 / 16 if higher == "light" else -1.4 / 16, rel=0.1)
    across = inside[np.abs(inside[:, 0]) < 0.5]
    assert np.ptp(across[:, 2]) < 0.2  # nothing but the ramp itself


def test_brightness_needs_the_picture() -> None:
    with pytest.raises(GeometryError, match="need the picture"):
        _part("brightness")


@pytest.mark.parametrize(("style", "face"), [("flush", "up"), ("sunk", "up"), ("flush", "down")])
def test_shaped_tops_stand_free_and_face_up(style: str, face: str) -> None:
    heights = replace(HEIGHTS, top="crown", style=style, face=face)
    with pytest.raises(RecipeError, match="crown top"):
        stack(plan_of(PLATE, (RED, SQUARE)), heights=heights, printer=PRINTER)


def test_a_low_motif_keeps_one_layer_upright_and_says_so() -> None:
    heights = replace(HEIGHTS, top="chamfer", edge_mm=2.0)
    stacked = stack(plan_of(PLATE, (RED, SQUARE)), heights=heights, printer=PRINTER)
    assert "top-limited" in {item.code for item in stacked.notes}
    assert stacked.slabs[1].upright_mm == pytest.approx(2.2)
    roomy = stack(plan_of(PLATE, (RED, SQUARE)), heights=replace(heights, edge_mm=0.4), printer=PRINTER)
    assert "top-limited" not in {item.code for item in roomy.notes}


def test_a_crown_of_few_layers_is_told_and_a_fine_one_is_not() -> None:
    coarse = stack(plan_of(PLATE, (RED, SQUARE)), heights=replace(HEIGHTS, top="crown"), printer=PRINTER)
    assert "top-coarse" in {item.code for item in coarse.findings}
    fine = replace(HEIGHTS, top="crown", layer_mm=0.1, first_layer_mm=0.2)
    found = stack(plan_of(PLATE, (RED, SQUARE)), heights=fine, printer=PRINTER).findings
    assert "top-coarse" not in {item.code for item in found}


CHAMFERED = replace(HEIGHTS, top="chamfer", motif_mm=1.6, layer_mm=0.2)
CROWNED = replace(CHAMFERED, top="crown")


@pytest.mark.parametrize(
    ("heights", "terraces"),
    [
        (replace(CHAMFERED, edge_mm=0.2), 1),
        (replace(CHAMFERED, edge_mm=0.38), 2),
        (replace(CHAMFERED, edge_mm=0.4), 0),
        (replace(CHAMFERED, edge_mm=0.38, layer_mm=0.25), 2),
        (replace(CROWNED, crown_mm=0.5), 3),
        (replace(CROWNED, crown_mm=1.18), 6),
        (replace(CROWNED, crown_mm=1.2), 0),
        (replace(CROWNED, crown_mm=0.5, layer_mm=0.12), 0),
        (replace(CROWNED, crown_mm=0.5, layer_mm=0.13), 4),
    ],
)
def test_a_shape_of_few_layers_is_told_with_their_number(heights: HeightSettings, terraces: int) -> None:
    """A bevel wants two layers, a crown 1.2 mm; with layers of 0.12 mm any shape will do."""
    found = stack(plan_of(PLATE, (RED, SQUARE)), heights=heights, printer=PRINTER).findings
    told = [item.message for item in found if item.code == "top-coarse"]
    assert len(told) == bool(terraces)
    assert all(f"prints as {terraces} terraces" in words for words in told)


@pytest.mark.parametrize("least", [0.2, 0.5, 1.0])
@pytest.mark.parametrize("spot", [0, 3, 40])
def test_layers_are_those_whose_middle_lies_below_the_highest_place(spot: int, least: float) -> None:
    """The lightest place alone reaches the whole height; one that is narrower than a bead does not stand."""
    values = np.full((400, 400), 90)
    values[200 - spot : 200 + spot, 200 - spot : 200 + spot] = 230
    frame = Frame(0.1, (200.0, 200.0), 0.0, (400, 400))
    plan = replace(plan_of(PLATE, (RED, SQUARE)), frame=frame)
    heights = replace(HEIGHTS, top="brightness", motif_mm=1.6, least_mm=least)
    stacked = stack(plan, _picture(values), heights=heights, printer=PRINTER)
    highest = max(float(part.vertices[:, 2].max()) for part in build(stacked))
    tops = [0.0, *stacked.layer_tops_mm]
    assert all((low + high) / 2 < highest for low, high in pairwise(tops))
    assert (tops[-1] + tops[-1] + heights.layer_mm) / 2 >= highest - 1e-9


@st.composite
def stars(draw: st.DrawFn) -> shapely.Polygon:
    count = draw(st.integers(3, 9))
    radii = draw(st.lists(st.floats(1.5, 9.0), min_size=2 * count, max_size=2 * count))
    turn = 2 * np.pi * np.arange(2 * count) / (2 * count)
    points = np.round(np.column_stack([np.cos(turn), np.sin(turn)]) * np.array(radii)[:, None], 3)
    return shapely.Polygon(points)


@settings(max_examples=25)
@given(stars(), st.sampled_from(["chamfer", "crown"]), st.floats(0.2, 1.2))
def test_any_star_is_closed_within_bounds_and_no_layer_hangs_over(
    star: shapely.Polygon, top: str, rise: float
) -> None:
    part = _part(top, star, edge_mm=round(rise, 2), crown_mm=round(rise, 2))
    least, most = star.area * (1.6 - rise - 0.011), star.area * 1.6
    assert least <= _volume(part) <= most * (1 + 1e-9)
    below = None
    for z in np.arange(2.1, 3.6, 0.2):
        shape = cut(part.vertices, part.triangles, float(z))
        assert shape.is_valid
        if below is not None:
            assert shape.difference(below.buffer(1e-4)).area < 1e-6
        below = shape


@settings(max_examples=12)
@given(pictures(), st.sampled_from(["chamfer", "crown"]))
def test_neighbors_share_their_walls_whatever_the_picture(plan, top: str) -> None:
    heights = replace(HEIGHTS, top=top, motif_mm=1.2)
    parts = build(stack(plan, heights=heights, printer=PRINTER))
    for part in parts:
        assert_closed(part)
    for z in (2.1, 2.5, 2.9, 3.1):
        shapes = [cut(part.vertices, part.triangles, z) for part in parts]
        assert sum(shape.area for shape in shapes) - shapely.union_all(shapes).area < 1e-6


@pytest.fixture(scope="module")
def stores() -> dict[str, MemoryStore]:
    """What three tops of one sample have in common, up to the stack, is made once."""
    return defaultdict(lambda: MemoryStore(keep=20))


@pytest.mark.parametrize(
    ("name", "top"),
    broad(
        itertools.product(["kite.png", "heron.jpg", "lantern.png"], ["chamfer", "crown", "brightness"]),
        lambda case: case[0] == "kite.png",
    ),
)
@pytest.mark.usefixtures("unadvised")
def test_samples_with_shaped_tops_print(name: str, top: str, stores: dict[str, MemoryStore]) -> None:
    recipe = Recipe.load(SAMPLES / f"{name.split('.', maxsplit=1)[0]}.toml").with_values(
        {"heights.style": "raised", "heights.top": top, "heights.motif_mm": 1.2}
    )
    relief = rs.make(SAMPLES / name, recipe, store=stores[name])
    assert_sound(relief)
    found = {item.code for item in check_parts(relief.parts, printer=recipe.printer, heights=recipe.heights)}
    assert not found & {"not-watertight", "parts-overlap", "island-in-air", "overhang"}
    assert all(part["watertight"] for part in parts_mapping(relief.parts))


MENDED = Early("mended")


@pytest.fixture(scope="module")
def edited() -> Job:
    return Job(SAMPLES / "kite.png")


@pytest.mark.parametrize("top", ["chamfer", "crown", "brightness"])
@pytest.mark.usefixtures("unadvised")
def test_edits_of_tops_come_to_what_a_fresh_run_does(top: str, edited: Job) -> None:
    recipe = Recipe.load(SAMPLES / "kite.toml").with_values({"heights.style": "raised"})
    shaped = recipe.with_values({"heights.top": top, "heights.motif_mm": 1.0})
    for step in (recipe, shaped, shaped.with_values({"heights.motif_mm": 1.4}), recipe, shaped):
        last = drain(edited.steps(step, "parts"))
    fresh = drain(Job(SAMPLES / "kite.png", MENDED).steps(shaped, "parts"))
    for one, two in zip(last["parts"], fresh["parts"], strict=True):
        np.testing.assert_array_equal(one.vertices, two.vertices)
        np.testing.assert_array_equal(one.triangles, two.triangles)
    assert decode(encode(fresh["stacked"])).slabs[1].highest_mm == fresh["stacked"].slabs[1].highest_mm


@pytest.mark.parametrize("top", ["chamfer", "crown"])
def test_layers_of_the_stack_are_those_cut_from_its_solids(top: str) -> None:
    heights = replace(HEIGHTS, top=top, motif_mm=1.6, edge_mm=0.8, crown_mm=1.0)
    stacked = stack(plan_of(PLATE, (RED, SQUARE)), heights=heights, printer=PRINTER)
    parts = build(stacked)
    known, found = layers_of_stack(stacked, parts), drain(cut_layers_steps(parts, heights=heights))
    assert [(layer.first, layer.count, layer.sloping) for layer in known] == [
        (layer.first, layer.count, layer.sloping) for layer in found
    ]
    assert len([layer for layer in known if layer.sloping]) == round(stacked.slabs[1].highest_mm * 5) - round(
        stacked.slabs[1].upright_mm * 5
    )
    for one, two in zip(known, found, strict=True):
        assert list(one.shapes) == list(two.shapes)
        for name, shape in one.shapes.items():  # middles of layers are equal but for rounding
            assert shape.symmetric_difference(two.shapes[name]).area < 1e-9


def test_the_section_follows_the_slope() -> None:
    heights = replace(HEIGHTS, top="chamfer", motif_mm=1.6, edge_mm=0.8)
    stacked = stack(plan_of(PLATE, (RED, SQUARE)), heights=heights, printer=PRINTER)
    (band,) = [band for band in section.cut(stacked).bands if band.part == 1]
    assert np.array(band.profile) == pytest.approx(np.array([(-8, 2.8), (-7.2, 3.6), (7.2, 3.6), (8, 2.8)]))


def test_the_last_step_alone_is_shaped() -> None:
    plan = plan_of(PLATE, (RED, shapely.box(-8, -8, 0, 8)), (GOLD, shapely.box(0, -8, 8, 8)), color=NAVY)
    heights = replace(HEIGHTS, style="stepped", top="chamfer", motif_mm=0.6)
    stacked = stack(plan, heights=heights, printer=PRINTER)
    kinds = [isinstance(slab.top, float) for slab in stacked.slabs]
    assert kinds == [True, True, False]


def test_a_photograph_of_a_shaded_ball_rises_where_it_is_light(tmp_path: Path) -> None:
    picture = Image.new("RGB", (600, 600), "white")
    pen = ImageDraw.Draw(picture)
    pen.ellipse((60, 60, 540, 540), fill="#3a3a3a")
    pen.ellipse((140, 140, 400, 400), fill="#474747")
    picture.save(tmp_path / "ball.png")
    recipe = Recipe().with_values(
        {"colors.count": 1, "heights.top": "brightness", "heights.motif_mm": 1.4, "colors.base": "#ffffff"}
    )
    relief = rs.make(tmp_path / "ball.png", recipe)
    (motif,) = [part for part in relief.parts if part.role == "motif"]
    frame = relief.plan.frame
    top = motif.vertices[motif.vertices[:, 2] > 2.05]

    def mean_height(column: float, row: float) -> float:
        place = (np.array([column, -row]) - np.array(frame.origin_px) * (1, -1)) * frame.mm_per_px
        return float(top[np.hypot(*(top[:, :2] - place).T) < 3, 2].mean())

    assert mean_height(270, 270) > mean_height(480, 300) + 0.3


STROKED = shapely.union(
    shapely.box(-6, -4, 2, 4), shapely.Polygon([(2, -0.6), (8, -0.1), (8, 0.1), (2, 0.6)])
)


@pytest.mark.parametrize("heights", [CROWNED, replace(CHAMFERED, edge_mm=0.8)], ids=["crown", "chamfer"])
def test_a_slope_at_which_a_stroke_ends_begins_with_a_level_rim(heights: HeightSettings) -> None:
    """The stroke gets narrower than a bead; without a rim its end would be a blade."""
    ending = stack(plan_of(PLATE, (RED, STROKED)), heights=heights, printer=PRINTER).slabs[1].top
    assert ending.levels_mm[0] == ending.levels_mm[1] < ending.levels_mm[2]
    assert ending.shapes[0].boundary.distance(ending.shapes[1]) == pytest.approx(RIM_MM, abs=0.003)
    plain = stack(plan_of(PLATE, (RED, SQUARE)), heights=heights, printer=PRINTER).slabs[1].top
    assert plain.levels_mm[0] < plain.levels_mm[1]


def test_along_a_stroke_that_ends_contours_have_a_vertex_at_every_quarter_millimetre() -> None:
    top = stack(plan_of(PLATE, (RED, STROKED)), heights=CROWNED, printer=PRINTER).slabs[1].top
    beyond = [
        (outer, inner) for outer, inner in pairwise(top.shapes[1:]) if outer.bounds[2] > inner.bounds[2] + 1.5
    ]
    assert beyond
    for outer, inner in beyond:
        ring = shapely.get_coordinates(max(outer.geoms, key=lambda piece: piece.area).exterior)
        sides = np.hypot(*np.diff(ring, axis=0).T)
        ended = np.minimum(ring[:-1, 0], ring[1:, 0]) > inner.bounds[2] + 1.3
        assert sides[ended].max() <= 0.26
