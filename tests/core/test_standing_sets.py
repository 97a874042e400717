"""Standing forms from their presets on: fits measured on the meshes, what is found, what is refused."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import affinity

import reliefsmith as rs
from forms import STANDING, assert_form
from reliefsmith.errors import GeometryError
from reliefsmith.findings import Severity
from reliefsmith.mesh import cut as section_at
from reliefsmith.recipe.presets import load_preset
from reliefsmith.walk.store import MemoryStore
from sound import assert_closed, assert_closed_as_stl
from tiers import broad

BLUE = {"colors.base": "#1e3c96"}
EXACT_MM = 2e-3  # two edges on the grid of 1 um, each rounded


KITE = Path(__file__).parents[2] / "samples" / "kite.png"
STORE = MemoryStore(keep=40)
pytestmark = pytest.mark.usefixtures("unadvised")


def slice_of(parts, z):
    return shapely.union_all([section_at(part.vertices, part.triangles, z) for part in parts])


def picture() -> np.ndarray:
    """A field of color with a letter's worth of another in it, on paper."""
    made = np.full((80, 140, 3), 255, dtype=np.uint8)
    made[10:70, 10:130] = 30, 60, 150
    made[30:50, 30:60] = 250, 210, 60
    return made


def made(preset: str, **values) -> rs.Relief:
    recipe = load_preset(preset).with_values({"size.longest_mm": 70.0, **values})
    return rs.make(picture(), recipe, store=STORE)


def own(relief, name):
    """Return an accessory's one solid."""
    (found,) = (item for item in relief.result.accessories if item.name == name)
    (part,) = found.parts
    assert_closed(part)
    assert_closed_as_stl(part)
    return found, part


def clean(relief) -> bool:
    return all(item.severity is not Severity.STOP for item in relief.findings)


def slot_of(profile) -> tuple[float, float, float]:
    """Return width and depth of a foot's slot, and its lean, from its corners."""
    ring = shapely.get_coordinates(profile.exterior)[:-1]
    top = ring[:, 1].max()
    lowest = min((p for p in ring if 0.5 < p[1] < top - 0.5), key=lambda p: p[1])
    at = int(np.flatnonzero((ring == lowest).all(axis=1))[0])
    around = [ring[(at + step) % len(ring)] for step in (-1, 1)]
    other = max((p for p in around if p[1] < top - 0.5), key=lambda p: p[1])
    width = math.dist(lowest, other)
    return width, top - (lowest[1] + other[1]) / 2, math.degrees(math.asin(abs(other[1] - lowest[1]) / width))


@pytest.mark.parametrize(("lean", "feet"), [(15.0, 2), (0.0, 1), (30.0, 2)])
def test_a_desk_sign_stands_in_its_feet(lean, feet) -> None:
    relief = made("desk-sign", **{"stand.lean_deg": lean, "stand.feet": feet})
    assert clean(relief)
    foot, part = own(relief, "foot")
    assert foot.copies == feet
    tongues = relief.plan.tongues
    assert len(tongues.geoms) == feet
    base = next(item for item in relief.parts if item.name == "base")
    x, y = tongues.geoms[0].centroid.coords[0]
    near = base.vertices[np.hypot(base.vertices[:, 0] - x, base.vertices[:, 1] - y) < 12]
    thick = np.ptp(near[:, 2])
    profile = shapely.Polygon(section_at(part.vertices, part.triangles, 8.0).geoms[0].exterior)
    assert np.ptp(part.vertices[:, 2]) == pytest.approx(16.0, abs=0.2)  # whole layers
    width, depth, angle = slot_of(profile)
    assert width == pytest.approx(thick + 2 * 0.2, abs=EXACT_MM)
    assert angle == pytest.approx(lean, abs=0.05)
    assert depth >= 8.0 * math.cos(math.radians(lean)) - width / 2 * math.sin(math.radians(lean)) - EXACT_MM


def test_the_piece_falls_back_onto_its_feet() -> None:
    """Leaning on a foot made by hand the piece tips; on one that is reckoned it stands."""
    assert not [item for item in made("desk-sign").findings if item.code == "stand-tips"]
    shallow = made("desk-sign", **{"stand.depth_mm": 12.0, "stand.lean_deg": 25.0})
    assert [item.code for item in shallow.findings if item.code == "stand-tips"] == ["stand-tips"]


def test_a_tongue_slides_into_the_slot() -> None:
    relief = made("desk-sign", **{"stand.lean_deg": 0.0})
    _, part = own(relief, "foot")
    profile = section_at(part.vertices, part.triangles, 8.0)
    thick = 3.0
    tongue = shapely.box(-thick / 2, 4.0, thick / 2, 30.0)
    assert shapely.intersection(profile, tongue).area < EXACT_MM
    for side in (-1, 1):
        assert shapely.intersection(profile, affinity.translate(tongue, side * 0.21, 0)).area > 0
        assert shapely.intersection(profile, affinity.translate(tongue, side * 0.19, 0)).area < EXACT_MM


def test_a_set_holds_its_feet(tmp_path) -> None:
    relief = made("desk-sign")
    relief.write(tmp_path)
    report = json.loads(next(tmp_path.glob("*-report.json")).read_text())
    (foot,) = report["accessories"]
    assert (foot["name"], foot["copies"], foot["parts"][0]["watertight"]) == ("foot", 2, True)
    assert {name.partition("-")[2] for name in report["files"]} >= {"foot.3mf", "foot.stl"}
    page = next(tmp_path.glob("*-sheet.html")).read_text()
    assert "What goes with it" in page
    assert "leans back by 15 degrees" in page


def test_what_cannot_stand_is_refused() -> None:
    with pytest.raises(GeometryError, match="too narrow for two feet"):
        made("desk-sign", **{"stand.width_mm": 22.0, "base.field_mm": [50.0, 12.0], "size.height_mm": 20.0})
    with pytest.raises(GeometryError, match="no room for a tongue of 190 mm"):
        made("desk-sign", **{"stand.width_mm": 190.0, "stand.feet": 1})
    assert made("pocket").result.accessories == ()
    assert made("pocket").plan.tongues.is_empty


def test_a_stamp_reads_right_where_it_is_stamped() -> None:
    text = {"text": "Kite 7", "box_mm": [-20, -8, 40, 10], "color": "#fad23c"}
    plain = made("stamp", **{"artwork.mirror": False, **BLUE, "lettering": [text]})
    stamp = made("stamp", **{**BLUE, "lettering": [text]})
    assert clean(stamp)
    (wanted,), (found,) = plain.plan.texts, stamp.plan.texts
    printed = affinity.scale(found.letters, -1, 1, origin=(0, 0))  # as paper shows it
    assert printed.symmetric_difference(wanted.letters).area < 0.01 * wanted.letters.area
    assert found.letters.symmetric_difference(wanted.letters).area > 0.2 * wanted.letters.area
    field = next(item for item in plain.plan.motifs if item.color == (250, 210, 60))
    mirrored = next(item for item in stamp.plan.motifs if item.color == (250, 210, 60))
    paper = affinity.scale(mirrored.polygon, -1, 1, origin=(0, 0))
    assert paper.symmetric_difference(field.polygon).area < 0.05 * field.polygon.area
    assert [item.code for item in stamp.result.notes].count("mirrored") == 1
    assert not any(item.code == "mirrored" for item in plain.result.notes)


def test_the_frame_of_a_mirrored_picture_leads_back_to_its_pixels() -> None:
    stamp = made("stamp", **BLUE)
    frame = stamp.plan.frame
    mark = next(item for item in stamp.plan.motifs if item.color == (250, 210, 60)).polygon.centroid
    px = np.array(frame.origin_px) + np.array([mark.x, -mark.y]) / frame.mm_per_px
    x, y, w = np.array(frame.to_source).reshape(3, 3) @ (*px, 1.0)
    assert (x / w, y / w) == pytest.approx((45, 40), abs=1.0)


def test_a_handle_covers_the_back_of_its_stamp() -> None:
    stamp = made("stamp")
    _, part = own(stamp, "handle")
    plate, grip = (section_at(part.vertices, part.triangles, z) for z in (1.0, 20.0))
    behind = affinity.scale(shapely.convex_hull(stamp.plan.base), -1, 1, origin=(0, 0))
    assert plate.symmetric_difference(behind).area < 0.01
    assert shapely.covers(plate.buffer(0.001), grip)
    x0, y0, x1, y1 = grip.bounds
    assert min(x1 - x0, y1 - y0) == pytest.approx(14.0, abs=0.01)
    assert np.ptp(part.vertices[:, 2]) == pytest.approx(28.0, abs=0.11)  # whole layers
    with pytest.raises(GeometryError, match="too small for a grip 60 mm thick"):
        made("stamp", **{"handle.thick_mm": 60.0})
    assert made("desk-sign", **{"stand.kind": "off"}).result.accessories == ()


def test_a_lit_sign_fits_its_walls_and_lid() -> None:
    sign = made("lit-sign")
    assert clean(sign)
    (_, walls), (_, lid) = own(sign, "walls"), own(sign, "lid")
    face = slice_of(sign.parts, 0.5)
    high = float(np.ptp(walls.vertices[:, 2]))
    assert high == pytest.approx(1.2 + 1.0 + 25.0, abs=0.11)  # lip, face, lamps to face, in whole layers
    middle = section_at(walls.vertices, walls.triangles, high / 2).geoms[0]
    outside, inside = (shapely.Polygon(ring) for ring in (middle.exterior, middle.interiors[0]))
    assert outside.exterior.distance(inside.exterior) == pytest.approx(1.6, abs=EXACT_MM)
    assert shapely.covers(inside, face)
    assert inside.exterior.distance(face) == pytest.approx(0.2, abs=EXACT_MM)
    lip = section_at(walls.vertices, walls.triangles, 0.5).geoms[0].interiors[0]
    assert shapely.Polygon(lip).exterior.distance(face.boundary) == pytest.approx(2.0, abs=EXACT_MM)
    rim = section_at(lid.vertices, lid.triangles, 4.0)
    behind = affinity.scale(rim, -1, 1, origin=(0, 0))  # the lid is seen from the front, walls from behind
    assert shapely.covers(inside, behind)
    assert inside.exterior.distance(behind) == pytest.approx(0.2, abs=EXACT_MM)


def test_a_cable_leaves_a_lit_sign_through_its_notch() -> None:
    sign = made("lit-sign")
    (_, walls), (_, lid) = own(sign, "walls"), own(sign, "lid")
    high = float(np.ptp(walls.vertices[:, 2]))
    closed, notched = (section_at(walls.vertices, walls.triangles, high - z) for z in (5.5, 0.5))
    missing = closed.difference(notched)
    x0, _, x1, _ = missing.bounds
    assert x1 - x0 == pytest.approx(5.0, abs=EXACT_MM)
    rim = affinity.scale(section_at(lid.vertices, lid.triangles, 4.0), -1, 1, origin=(0, 0))
    assert missing.distance(rim) > 0.15
    whole = made("lit-sign", **{"housing.cable_mm": 0.0})
    _, plain = own(whole, "walls")
    assert section_at(plain.vertices, plain.triangles, high - 0.5).geoms[0].interiors


def test_what_a_lit_sign_warns_of() -> None:
    codes = {item.code for item in made("lit-sign").findings}
    assert "lamp-caution" in codes
    assert not codes & {"lamp-spots", "face-thickness"}
    far = made("lit-sign", **{"housing.lamp_pitch_mm": 40.0, "heights.base_mm": 2.0})
    assert {item.code for item in far.findings} >= {"lamp-caution", "lamp-spots", "face-thickness"}
    (caution,) = (item for item in far.findings if item.code == "lamp-caution")
    assert "never mains" in caution.message
    assert not made("lit-sign", audience="children").printable
    with pytest.raises(GeometryError, match="one piece, wider than 60 mm"):
        made("lit-sign", **{"housing.lip_mm": 20.0, "housing.wall_mm": 10.0, "size.longest_mm": 40.0})


@pytest.mark.parametrize("name", sorted(STANDING))
def test_a_drawing_takes_every_standing_form(name) -> None:
    assert_form(made(name))


@pytest.mark.parametrize("name", broad(sorted(STANDING), lambda name: name == "lit-sign"))
def test_the_kite_takes_every_standing_form(name) -> None:
    assert_form(rs.make(KITE, load_preset(name)))


def test_a_layered_picture_fits_its_frame_which_takes_a_hook() -> None:
    relief = made("layered-picture")
    assert clean(relief)
    _, frame = own(relief, "frame")
    face = slice_of(relief.parts, 0.5)
    high = float(np.ptp(frame.vertices[:, 2]))
    middle = section_at(frame.vertices, frame.triangles, 1.5).geoms[0]
    inside = shapely.Polygon(middle.interiors[0])
    assert shapely.covers(inside, face)
    assert inside.exterior.distance(face) == pytest.approx(0.2, abs=EXACT_MM)
    assert middle.exterior.distance(middle.interiors[0]) == pytest.approx(12.0, abs=EXACT_MM)
    lip = section_at(frame.vertices, frame.triangles, 0.5).geoms[0].interiors[0]
    assert shapely.Polygon(lip).exterior.distance(face.boundary) == pytest.approx(3.0, abs=EXACT_MM)
    back = section_at(frame.vertices, frame.triangles, high - 0.5)
    pocket = middle.difference(back)
    x0, y0, x1, y1 = pocket.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((12.0, 6.0), abs=EXACT_MM)
    assert pocket.distance(middle.boundary) == pytest.approx(3.0, abs=EXACT_MM)
    assert y0 > face.bounds[3]  # above the picture
    with pytest.raises(GeometryError, match="no room for a hook"):
        made("layered-picture", **{"housing.wall_mm": 8.0})
