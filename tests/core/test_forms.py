"""The presets on the kite: sound, in one piece, their fits measured on the meshes, and what is refused."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely

import reliefsmith as rs
from forms import FORMS, HABITS, across, assert_form, holes_of, section, sides, wall
from reliefsmith.errors import ReliefsmithError
from reliefsmith.recipe.presets import load_preset, preset_forms
from reliefsmith.walk.store import MemoryStore
from tiers import broad

KITE = Path(__file__).parents[2] / "samples" / "kite.png"
STORE = MemoryStore(keep=40)
pytestmark = pytest.mark.usefixtures("unadvised")
_BED, _NEAR = 0.1, 0.03  # a height in the first layer; chords of arcs and the grid


def made(name: str, **values: object) -> rs.Relief:
    return rs.make(KITE, load_preset(name).with_values(values), store=STORE)


def test_every_form_that_is_expected_ships_and_says_what_it_is() -> None:
    forms = preset_forms()
    assert set(forms) >= FORMS | HABITS
    for name, form in forms.items():
        assert form.about, name
        assert (name in FORMS) <= bool(form.kind and form.caution and form.least_mm), name


ALIKE = {"badge-magnet", "bag-tag", "luggage-tag", "plaque", "zipper-pull"}
"""Forms that another of the tier is like: the badge by pin, the plant tag, the door sign, the keyring."""


@pytest.mark.parametrize("name", broad(sorted(FORMS), lambda name: name not in ALIKE))
def test_the_kite_takes_every_form(name: str) -> None:
    assert_form(made(name))


@pytest.mark.parametrize(("name", "diameter", "least"), [("keyring", 5.0, 2.5), ("zipper-pull", 3.0, 2.2)])
def test_a_ring_passes_its_hole_and_swings_round_the_wall(name: str, diameter: float, least: float) -> None:
    relief = made(name)
    (hole,) = holes_of(relief, _BED)
    assert across(hole) == pytest.approx(diameter, abs=_NEAR)
    assert least - _NEAR <= wall(relief, hole, _BED) <= {"keyring": 10.0, "zipper-pull": 3.0}[name]


@pytest.mark.parametrize(
    ("name", "slot", "strap"),
    [
        ("bag-tag", (11.0, 3.0), 10.0),
        ("luggage-tag", (21.0, 3.0), 20.0),
        ("medal", (23.0, 3.0), 22.0),
        ("ornament", (7.0, 2.5), 6.0),
    ],
)
def test_a_strap_passes_its_slot_and_the_bridge_holds(
    name: str, slot: tuple[float, float], strap: float
) -> None:
    relief = made(name)
    (hole,) = holes_of(relief, _BED)
    assert sides(hole) == pytest.approx(slot, abs=_NEAR)
    assert sides(hole)[0] - strap >= 1.0 - _NEAR  # its play: hardware.toml
    bridge, thick = wall(relief, hole, _BED), relief.plan.hole and load_preset(name).heights.base_mm
    # A beam built in at both ends under 90 N (Roark, straight beams; from memory), of plastic of 50 MPa.
    assert 90.0 * slot[0] / 12 / (thick * bridge**2 / 6) <= 50.0 / 3


@pytest.mark.parametrize(
    ("name", "count", "size"),
    [("badge-magnet", 2, 8.0), ("magnet", 1, 8.0)],
)
def test_magnets_go_into_their_pockets(name: str, count: int, size: float) -> None:
    relief = made(name)
    pockets = holes_of(relief, _BED)
    assert len(pockets) == count
    high = load_preset(name).hang.magnet_mm[1]
    for pocket in pockets:
        assert across(pocket) == pytest.approx(size + 0.15, abs=_NEAR)  # clearance: common practice
        assert wall(relief, pocket, _BED) >= 1.2 - _NEAR
        _assert_depth(relief, pocket, high + 0.2)
    (said,) = [item for item in relief.findings if item.code == "magnet-caution"]
    assert "emergency" in said.message


@pytest.mark.parametrize(
    ("name", "count", "size", "deep"),
    [("badge-pin", 1, (25.0, 5.0), 0.8), ("door-sign", 2, (40.0, 9.0), 0.6)],
)
def test_bars_and_strips_go_into_their_pockets(
    name: str, count: int, size: tuple[float, float], deep: float
) -> None:
    relief = made(name)
    pockets = holes_of(relief, _BED)
    assert len(pockets) == count
    for pocket in pockets:
        assert sides(pocket) == pytest.approx((size[0] + 0.3, size[1] + 0.3), abs=_NEAR)
        assert wall(relief, pocket, _BED) >= 1.2 - _NEAR
        _assert_depth(relief, pocket, deep)
    if count > 1:
        assert pockets[0].centroid.y == pytest.approx(pockets[1].centroid.y, abs=_NEAR)


def _assert_depth(relief: rs.Relief, pocket: shapely.Polygon, deep: float) -> None:
    """The pocket is open to its depth, and closed a layer above that."""
    middle = pocket.centroid
    assert not section(relief, deep - 0.05).contains(middle)
    assert section(relief, deep + 0.25).contains(middle)


def test_four_screws_sink_into_a_plaque_by_their_angle() -> None:
    relief = made("plaque")
    recipe = load_preset("plaque")
    holes = holes_of(relief, _BED)
    assert [across(hole) for hole in holes] == pytest.approx([4.5] * 4, abs=_NEAR)
    x, y = np.array([hole.centroid.coords[0] for hole in holes]).T
    assert (y[0], y[2]) == pytest.approx((y[1], y[3]), abs=_NEAR)  # two levels
    assert min(x[1] - x[0], x[3] - x[2]) > 100
    assert y[0] - y[2] > 80
    top, head = recipe.heights.base_mm, 8.4  # largest head of a screw of 4 mm: ISO 7046-2
    for hole, low in zip(holes, holes, strict=True):
        assert wall(relief, low, _BED) >= 2.0
        middle, layer = hole.centroid, recipe.heights.layer_mm
        widths = []
        for number in range(3):
            solid = section(relief, top - (number + 0.5) * layer)
            widths.append(2 * solid.distance(middle))
        assert widths[0] >= head
        # The cone of 90 degrees narrows by twice the layer each layer.
        assert np.diff(widths) == pytest.approx([-2 * layer * math.tan(math.pi / 4)] * 2, abs=_NEAR)
    assert "countersink-shallow" not in {item.code for item in relief.findings}


def test_no_text_runs_into_a_countersink_or_out_of_its_field() -> None:
    relief = made("plaque")
    (text,) = relief.plan.texts
    sunk = [pocket.polygon for pocket in relief.plan.pockets if pocket.side == "front"]
    assert min(shapely.Polygon(ring.exterior).distance(text.letters) for ring in sunk) >= 0.5
    low = -relief.plan.artwork_mm[1] / 2
    assert text.letters.bounds[3] <= low - 2.0
    assert text.letters.bounds[1] >= low - 32.0
    assert text.letters.centroid.x == pytest.approx(0.0, abs=1.0)


def test_a_coaster_is_flat_on_top_and_round() -> None:
    relief = made("coaster")
    result, top = relief.result, relief.stack.layer_tops_mm[-1]
    assert top == pytest.approx(4.0)
    assert result.recipe.heights.face == "down"
    # Face down its top lies on the bed: every part reaches it, and together they fill the disc.
    assert all(part.vertices[:, 2].min() == 0.0 for part in relief.parts)
    disc = section(relief, 3 * _BED)  # the second layer: in the first, colors printed in turn stand apart
    wide, high = sides(disc)
    assert (wide, high) == pytest.approx((95.0, 95.0), abs=0.05)
    assert disc.area == pytest.approx(math.pi * 95.0**2 / 4, rel=2e-3)
    (said,) = [item for item in relief.findings if item.code == "form-caution"]
    assert "55 °C" in said.message


def test_a_plant_tag_has_a_spike_that_goes_into_soil() -> None:
    relief = made("plant-tag")
    solid, low = section(relief, _BED), relief.plan.base.bounds[1]
    plate = -relief.plan.artwork_mm[1] / 2 - 13.0 - 2.0  # artwork, field, border
    assert plate - low == pytest.approx(70.0, abs=0.05)
    widths = [
        sides(shapely.clip_by_rect(solid, -60, low + up, 60, low + up + 0.1))[0] for up in (0.05, 9.0, 40.0)
    ]
    assert widths[2] == pytest.approx(9.0, abs=0.05)
    assert widths[0] < 1.2  # blunt, and narrow enough to part the soil
    assert widths[0] < widths[1] < widths[2]


@pytest.mark.parametrize(
    ("name", "values", "message"),
    [
        ("zipper-pull", {"size.width_mm": 8.0}, "too small for zipper pull, which needs 20 mm"),
        ("luggage-tag", {"size.width_mm": 20.0}, "too small for luggage tag, which needs 60 mm"),
        (
            "medal",
            {"hang.slot_mm": [60.0, 3.0]},
            "a slot of 60 mm with walls of 9.0 mm is wider than the piece",
        ),
        (
            "badge-pin",
            {"hang.pin_mm": [60.0, 5.0]},
            "the base has no room for a brooch pin with a bar of 60 x 5",
        ),
        ("door-sign", {"hang.tape_mm": [90.0, 9.0]}, "the base has no room for two pockets"),
        ("plaque", {"hang.holes": 3}, "hang.holes 3 is not made; set 1 or 2, or 4 with hang.hardware screw"),
        ("magnet", {"hang.holes": 4}, "hang.holes 4 is not made"),
    ],
)
def test_a_form_that_cannot_carry_the_artwork_is_refused_in_one_line(
    name: str, values: dict[str, object], message: str
) -> None:
    with pytest.raises(ReliefsmithError) as caught:
        made(name, **values)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", ["badge-pin", "badge-magnet", "magnet"])
def test_what_is_not_for_children_stops_for_them(name: str) -> None:
    relief = made(name, audience="children")
    assert not relief.printable


def test_example_words_are_told_until_they_are_the_customers_own() -> None:
    relief = made("door-sign")
    (said,) = [item for item in relief.findings if item.code == "text-example"]
    assert "set lettering.1.text" in said.message
    own = made("door-sign", lettering=[{"text": "Mirabel"}])
    assert "text-example" not in {item.code for item in own.findings}
