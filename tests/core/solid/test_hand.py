"""Hand relief: what was sculpted stays through every later change, is printable, and costs what is said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st

import reliefsmith as rs
from handwork import Bumps, tops_at
from reliefsmith.checks.independent import check_parts
from reliefsmith.errors import RecipeError
from reliefsmith.mesh import cut, signed_volume
from reliefsmith.model import Frame, HandPicture, HandRelief, Part, Sculpted
from reliefsmith.recipe import Recipe
from reliefsmith.solid.build import build
from reliefsmith.solid.handplaced import handed
from reliefsmith.solid.stacking import stack
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import decode, encode
from sound import assert_closed, assert_closed_as_stl, section_area
from tiers import broad, examples

from .plans import PRINTER, RED, pictures, plan_of, raster_plan

PLATE = shapely.box(-20, -20, 20, 20)
SQUARE = shapely.box(-8, -8, 8, 8)
HEIGHTS = Recipe().with_values({"heights.style": "raised"}).heights
WIDTH_MM, HEIGHT_MM = 30.0, 19.5
CLEAR_MM = 0.15  # of walls, beside which a grid of 0.1 mm cannot hold a step


def _picture() -> np.ndarray:
    """Three colors of paint on white, 544 x 368 px: a lantern's stripe, a disc, and a wedge beside it."""
    y, x = np.mgrid[:368, :544]
    pixels = np.full((368, 544, 4), 255, np.uint8)
    pixels[:] = (0, 0, 0, 0)
    pixels[8:360, 2:542] = (30, 60, 130, 255)
    pixels[(x - 170) ** 2 + (y - 180) ** 2 < 120**2] = (230, 180, 40, 255)
    pixels[(abs(y - 190) < 60) & (x > 320) & (x < 500) & (y > x - 300)] = (210, 50, 40, 255)
    return pixels


@pytest.fixture(scope="module")
def job() -> Job:
    return Job(_picture())


def _recipe(**more: object) -> Recipe:
    plain = {"size.width_mm": WIDTH_MM, "colors.count": 3, "base.border_mm": 1.0, "heights.style": "raised"}
    return Recipe().with_values({**plain, **{key.replace("__", "."): value for key, value in more.items()}})


def _errors(job: Job, recipe: Recipe, bumps: Bumps) -> np.ndarray:
    """Differences in mm between what was sculpted and what the parts hold, away from walls."""
    plain = Job(job.picture, job.store).relief(recipe)
    sculpted = Job(job.picture, job.store, bumps.relief()).relief(recipe)
    for part in sculpted.parts:
        assert_closed(part)
    assert not [item for item in sculpted.findings if item.code in ("parts-overlap", "not-watertight")]
    scale = sculpted.areas.size_mm[0] / bumps.width_mm
    size = (bumps.width_mm, bumps.height_mm)
    drawn = np.random.default_rng(3).uniform(-0.5, 0.5, (8_000, 2)) * size
    walls = shapely.union_all([shapely.boundary(slab.polygon) for slab in sculpted.stack.slabs])
    shapely.prepare(walls)
    far = ~shapely.dwithin(walls, shapely.points(drawn * scale), CLEAR_MM)
    places = drawn[far]
    before, after = tops_at(plain.parts, places * scale), tops_at(sculpted.parts, places * scale)
    ground = ~np.isnan(before)
    assert ground.mean() > 0.8
    return (after - before - bumps.at(places))[ground]


EDITS = {
    "as it was": {},
    "base height": {"heights__base_mm": 2.6},
    "border": {"base__border_mm": 2.5},
    "hole": {"hang__hole_mm": 4.0},
    "smoothing": {"areas__smoothing": 0.9},
    "stepped": {"heights__style": "stepped"},
    "flush": {"heights__style": "flush", "heights__motif_mm": 0.8},
    "sunk": {"heights__style": "sunk", "heights__base_mm": 3.0},
    "chamfer": {"heights__top": "chamfer", "heights__motif_mm": 1.6, "heights__edge_mm": 0.6},
    "crown": {"heights__top": "crown", "heights__motif_mm": 1.6},
    "own heights": {"heights__motif_mm": 1.4},
}


@pytest.mark.parametrize("edit", broad(EDITS, lambda edit: edit not in {"border", "own heights"}), ids=str)
def test_60_bumps_and_a_wave_stay_through_every_edit(edit: str, job: Job) -> None:
    only_up = edit in ("stepped", "sunk")  # their steps and floors may have just the two layers that stay
    off = np.abs(_errors(job, _recipe(**EDITS[edit]), Bumps(WIDTH_MM, HEIGHT_MM, up=only_up)))
    assert np.sqrt((off**2).mean()) <= 0.005
    assert np.quantile(off, 0.99) <= 0.02
    assert off.max() <= 0.06


def test_width_34_to_30_scales_the_relief_in_the_plane_only(job: Job) -> None:
    off = np.abs(_errors(job, _recipe(), Bumps(34.0, 22.0)))
    assert np.quantile(off, 0.99) <= 0.03


def test_with_2_colors_in_place_of_3_the_relief_stays(job: Job) -> None:
    off = np.abs(_errors(job, _recipe(colors__count=2), Bumps(WIDTH_MM, HEIGHT_MM)))
    assert np.quantile(off, 0.99) <= 0.03


def test_colors_3_to_2_to_3_give_the_same_parts_to_the_bit(job: Job) -> None:
    hand = Bumps(WIDTH_MM, HEIGHT_MM).relief()
    first = Job(job.picture, None, hand).relief(_recipe())
    Job(job.picture, job.store, hand).relief(_recipe(colors__count=2))
    again = Job(job.picture, job.store, hand).relief(_recipe())
    for one, other in zip(first.parts, again.parts, strict=True):
        np.testing.assert_array_equal(one.vertices, other.vertices)
        np.testing.assert_array_equal(one.triangles, other.triangles)


def _hand(values: np.ndarray, width_mm: float = 40.0) -> HandRelief:
    """A field over the plate: rows from the top, as many across as down."""
    step = width_mm / values.shape[1]
    half = (width_mm - step) / 2 / 40.0
    return HandRelief(values.astype(np.float32), (-half, half), step / 40.0)


def _coordinates(count: int = 200) -> tuple[np.ndarray, np.ndarray]:
    line = (np.arange(count) + 0.5) / count * 40 - 20
    x, y = np.meshgrid(line, -line)
    return x, y


def _built(hand: HandRelief | None, **more: object):
    plan = plan_of(PLATE, (RED, SQUARE))
    stacked = stack(plan, None, hand, heights=replace(HEIGHTS, **more), printer=PRINTER)
    parts = build(stacked)
    for part in parts:
        assert_closed(part)
        assert_closed_as_stl(part)
    return stacked, parts


def _volume(parts) -> float:
    return sum(signed_volume(part.vertices, part.triangles) for part in parts)


@pytest.mark.parametrize("style", ["raised", "flush", "stepped"])
def test_the_volume_grows_by_the_integral_of_the_field(style: str) -> None:
    """Of a cos(x) cos(y) + b over a square of side s: b s^2 + a (2 sin(s / 2))^2."""
    x, y = _coordinates()
    rise = 0.3 + 0.25 * np.cos(x) * np.cos(y)
    plain, sculpted = _built(None, style=style), _built(_hand(rise), style=style)
    wanted = 0.3 * 40**2 + 0.25 * (2 * np.sin(20)) ** 2
    if style != "flush":  # beside the square the relief of the base leans up over 0.02 mm
        wanted -= 0.02 / 2 * 0.3 * 4 * 16
    assert _volume(sculpted[1]) - _volume(plain[1]) == pytest.approx(wanted, rel=5e-4)


def test_a_level_field_moves_the_top_and_adds_no_point_inside() -> None:
    _, (base, motif) = _built(_hand(np.full((40, 40), 0.2)))
    assert motif.vertices[:, 2].max() == pytest.approx(2.8)
    assert len(motif.vertices) == 12  # a box, and its top drawn in by the lean
    assert base.vertices[:, 2].max() == pytest.approx(2.2)


def test_where_the_field_does_not_hold_the_top_is_as_generated() -> None:
    x, _ = _coordinates()
    values = np.where(x > 2, 0.4, np.nan)
    _, parts = _built(_hand(values))
    places = np.array([(-6.0, 3.0), (-1.0, -5.0), (5.0, 5.0), (-15.0, 0.0), (15.0, 0.0)])
    np.testing.assert_allclose(tops_at(parts, places), [2.6, 2.6, 3.0, 2.0, 2.4], atol=1e-6)
    same, _ = _built(_hand(np.zeros((9, 9))))
    assert not any(isinstance(slab.top, Sculpted) for slab in same.slabs)


def test_neighbors_meet_without_a_groove_or_a_fin() -> None:
    """Across a straight boundary of two colors the surface is that of the field, right up to the line."""
    _, y = _coordinates()
    plan = plan_of(PLATE, (RED, shapely.box(-8, -8, 0, 8)), ((250, 250, 240), shapely.box(0, -8, 8, 8)))
    hand = _hand(0.2 * np.sin(y))
    parts = build(stack(plan, None, hand, heights=HEIGHTS, printer=PRINTER))
    along = np.linspace(-7.5, 7.5, 301)
    for beside in (-0.01, -0.001, 0.001, 0.01):
        found = tops_at(parts, np.column_stack([np.full(301, beside), along])) - 2.6
        np.testing.assert_allclose(found, 0.2 * np.sin(along), atol=0.004)


def test_carving_leaves_two_layers_of_a_part_and_says_so() -> None:
    stacked, (base, motif) = _built(_hand(np.full((40, 40), -5.0)))
    assert motif.vertices[:, 2].max() == pytest.approx(2.4)
    assert tops_at((base,), np.array([(15.0, 15.0)]))[0] == pytest.approx(0.4)
    assert tops_at((base,), np.array([(0.0, 0.0)]))[0] == pytest.approx(2.0)  # what carries stays
    assert [item.code for item in stacked.notes if item.code == "hand-limited"] == ["hand-limited"]
    gentle, _ = _built(_hand(np.full((40, 40), -0.2)))
    assert not [item for item in gentle.notes if item.code == "hand-limited"]


@pytest.mark.parametrize(("reach", "highest"), [("within", 2.0), ("above", 2.5)])
def test_flush_tops_are_lifted_or_stay_within_as_the_setting_says(reach: str, highest: float) -> None:
    _, parts = _built(_hand(np.full((40, 40), 0.5)), style="flush", hand_reach=reach)
    assert max(part.vertices[:, 2].max() for part in parts) == pytest.approx(highest)


def test_within_their_layers_sunk_tops_are_carved_only() -> None:
    x, _ = _coordinates()
    more = {"style": "sunk", "base_mm": 3.0, "motif_mm": 0.6, "hand_reach": "within"}
    _, parts = _built(_hand(np.where(x > 0, 0.5, -0.1)), **more)
    found = tops_at(parts, np.array([(5.0, 0.0), (-5.0, 0.0), (15.0, 0.0), (-15.0, 0.0)]))
    np.testing.assert_allclose(found, [2.4, 2.4, 3.0, 2.9], atol=1e-6)  # the floor has two layers


def test_face_down_is_refused_in_one_line_with_the_way_out() -> None:
    with pytest.raises(RecipeError, match=r"heights\.face to up, or leave heights\.hand empty"):
        _built(_hand(np.ones((9, 9))), style="flush", face="down")


def test_extra_color_changes_are_counted_and_said(job: Job) -> None:
    recipe = _recipe(heights__style="stepped")
    plain = Job(job.picture, job.store).relief(recipe)
    hand = HandRelief(np.full((60, 60), 0.4, np.float32), (-0.5, 0.5), 1 / 59)
    sculpted = Job(job.picture, job.store, hand).relief(recipe)
    more = sculpted.inspection.estimate.changes - plain.inspection.estimate.changes
    said = [item.message for item in sculpted.findings if item.code == "hand-changes"]
    assert more > 0
    assert not sculpted.stack.by_height
    assert plain.stack.by_height
    assert len(said) == 1
    assert f"{more} more color changes" in said[0]
    assert len(sculpted.stack.layer_tops_mm) == len(plain.stack.layer_tops_mm) + 2
    assert sculpted.inspection.estimate.time_min > plain.inspection.estimate.time_min


def test_carving_alone_takes_no_more_color_changes(job: Job) -> None:
    hand = HandRelief(np.full((60, 60), -0.2, np.float32), (-0.5, 0.5), 1 / 59)
    sculpted = Job(job.picture, job.store, hand).relief(_recipe(heights__style="stepped"))
    assert not [item for item in sculpted.findings if item.code == "hand-changes"]


@pytest.mark.parametrize("share", [0.0, 0.1, 0.25])
def test_the_share_without_ground_is_said_within_a_hundredth(share: float) -> None:
    values = np.zeros((400, 400))
    values[100:300, 300 : 300 + 80] = 0.2  # 20 x 8 mm on the plate
    at_edge = _hand(values)
    right = (2.0 + 8.0 * share) / 40.0
    stacked, _ = _built(replace(at_edge, origin=(at_edge.origin[0] + right, at_edge.origin[1])))
    said = [item.message for item in stacked.findings if item.code == "hand-off"]
    if share == 0:
        assert said == []
        return
    percent = float(said[0].split("kept ")[1].split("%")[0])
    assert percent == pytest.approx(100 * (1 - share), abs=1.0)


def _blocks(seed: int) -> HandRelief:
    """A field in blocks of random heights, a fifth of them unknown: steps wherever they meet."""
    drawn = np.random.default_rng(seed)
    coarse = drawn.uniform(-0.6, 0.8, (9, 9))
    coarse[drawn.uniform(size=(9, 9)) < 0.2] = np.nan
    values = np.repeat(np.repeat(coarse, 8, axis=0), 8, axis=1)
    return HandRelief(values.astype(np.float32), (-0.55, 0.55), 1.1 / 71)


def _assert_cut_whole(parts: tuple[Part, ...]) -> None:
    for part in parts:
        for z_mm in (1.9, 2.3, 2.7, 3.5):
            shape = cut(part.vertices, part.triangles, z_mm)
            assert shape.area == pytest.approx(section_area(part, z_mm), abs=0.01)


@pytest.mark.parametrize("seed", [3, 7, 24])
def test_steps_of_a_field_along_boundaries_are_cut_whole(seed: int) -> None:
    """Their walls lean by a grid step to either side, so outlines cross themselves by a hair."""
    drawn = np.random.default_rng(seed)
    size = int(drawn.integers(3, 6))
    plan = raster_plan(drawn.integers(0, 4, size * size).tolist(), float(drawn.choice([0.0, 45.0])))
    heights = replace(HEIGHTS, base_mm=3.0, motif_mm=1.2, style="flush")
    _assert_cut_whole(build(stack(plan, None, _blocks(seed), heights=heights, printer=PRINTER)))


FORMS = [(style, "flat") for style in ("raised", "stepped", "flush", "sunk")]
FORMS += [(style, top) for style in ("raised", "stepped") for top in ("chamfer", "crown")]


@examples(16, 150, form=st.sampled_from(FORMS), plan=pictures(), seed=st.integers(0, 99), both=st.booleans())
def test_any_picture_with_any_field_stays_closed_and_apart(form, plan, seed, both) -> None:
    style, top = form
    hand = _blocks(seed)
    more = {"base_mm": 3.0, "motif_mm": 1.2, "foot_mm": 0.2 if both else 0.0, "style": style, "top": top}
    base = replace(Recipe().base, rim_mm=1.5 if both and style == "raised" else 0.0)
    heights = replace(HEIGHTS, **more)
    stacked = stack(plan, None, hand, heights=heights, printer=PRINTER, base=base)
    assert decode(encode(stacked)) is not None
    parts = build(stacked)
    for part in parts:
        assert_closed(part)
    _assert_cut_whole(parts)
    codes = {item.code for item in check_parts(parts, printer=PRINTER, heights=heights)}
    assert not codes & {"parts-overlap", "not-watertight", "island-in-air"}


def test_looking_inside_cuts_a_sculpted_piece_closed(job: Job) -> None:
    sculpted = Job(job.picture, job.store, Bumps(WIDTH_MM, HEIGHT_MM).relief()).relief(_recipe())
    for height in (1.0, 1.9, 2.05, 2.3, 2.55, 2.7):
        for part in sculpted.parts_below(height):
            assert_closed(part)
            assert part.vertices[:, 2].max() <= height + 1e-9


def test_fine_fields_are_averaged_and_coarse_ones_kept(job: Job) -> None:
    areas = rs.make(_picture(), _recipe()).areas
    fine = handed(areas, HandPicture(np.ones((800, 1000), np.float32), (0.0, 0.0), 0.01 / WIDTH_MM))
    assert fine is not None
    assert fine.step * WIDTH_MM == pytest.approx(0.05)
    assert fine.origin[0] * WIDTH_MM == pytest.approx(0.02)
    again = handed(areas, HandPicture(fine.values, fine.origin, fine.step))
    assert again == fine or np.array_equal(again.values, fine.values)


@pytest.mark.parametrize("turn_deg", [0.0, 4.0, -5.5])
def test_a_picture_over_the_artwork_lands_where_its_paint_lies(turn_deg: float, job: Job) -> None:
    """By the frame's own formula: the pixel at origin_px + R(turn) (X, -Y) / mm_per_px."""
    frame = Frame(0.08, (270.0, 190.0), turn_deg, (544, 368))
    areas = replace(job.relief(_recipe()).areas, frame=frame)
    y, x = np.mgrid[:184, :272]  # half as many pixels as the artwork's picture has
    values = (0.01 * x - 0.004 * y).astype(np.float32)
    found = handed(areas, HandPicture(values))
    places = np.random.default_rng(5).uniform(-9, 9, (500, 2))
    turn = np.radians(turn_deg)
    right, down = places[:, 0] / 0.08, -places[:, 1] / 0.08
    px = 270.0 + np.cos(turn) * right - np.sin(turn) * down
    py = 190.0 + np.sin(turn) * right + np.cos(turn) * down
    wanted = 0.01 * (px / 2 - 0.5) - 0.004 * (py / 2 - 0.5)
    assert found is not None
    np.testing.assert_allclose(found.at(places, areas.size_mm[0]), wanted, atol=1e-4)
