"""The samples on every hardware: sound sets that print, whatever the piece hangs by."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import pytest
import shapely

import reliefsmith as rs
from reliefsmith.findings import Severity
from reliefsmith.walk.store import MemoryStore
from sound import assert_sound
from tiers import broad

SAMPLES = Path(__file__).parents[2] / "samples"
pytestmark = pytest.mark.usefixtures("unadvised")
PICTURES = ("kite.png", "heron.jpg", "lantern.png")
KINDS = (
    {"hang.hardware": "strap"},
    {"hang.hardware": "screw"},
    {"hang.hardware": "screw", "hang.holes": 2},
    {"hang.hardware": "cord", "hang.holes": 2},
    {"hang.hardware": "jump-ring", "hang.holes": 2, "hang.hole_mm": 3.0},
    {"hang.hardware": "magnet"},
    {"hang.hardware": "magnet", "hang.holes": 2},
    {"hang.hardware": "pin"},
    {"hang.hardware": "tape", "hang.tape_mm": [16.0, 9.0]},
    {"hang.hardware": "ribbon", "hang.slot_mm": [10.0, 2.5]},
)


@pytest.fixture(scope="module")
def stores() -> dict[str, MemoryStore]:
    return {picture: MemoryStore(keep=20) for picture in PICTURES}


def _recipe(picture: str) -> rs.Recipe:
    return rs.Recipe.load(SAMPLES / Path(picture).with_suffix(".toml"))


def _name(kind: dict[str, object]) -> str:
    return "-".join(str(item) for item in kind.values())


@pytest.mark.parametrize(
    ("picture", "kind"),
    broad(
        itertools.product(PICTURES, KINDS),
        lambda case: (
            case[0] == "kite.png" or (case[0] == "lantern.png" and _name(case[1]) in {"strap", "magnet"})
        ),
    ),
    ids=lambda given: given if isinstance(given, str) else _name(given),
)
def test_every_sample_makes_a_sound_set(
    picture: str, kind: dict[str, object], stores: dict[str, MemoryStore]
) -> None:
    relief = rs.make(SAMPLES / picture, _recipe(picture).with_values(kind), store=stores[picture])
    assert_sound(relief)
    assert relief.printable, relief.findings
    codes = {item.code for item in relief.findings}
    assert not codes & {"overhang", "long-bridge", "hangs-crooked", "hole-weak", "hole-missing"}
    plan = relief.plan
    if kind["hang.hardware"] in ("magnet", "pin", "tape"):
        assert plan.hole is None
        assert len(plan.pockets) == kind.get("hang.holes", 1)
    else:
        assert len(plan.holes) == kind.get("hang.holes", 1)


@pytest.mark.parametrize(
    ("kind", "style"),
    broad(
        itertools.product(["magnet", "screw", "pin"], ["flush", "sunk", "stepped"]),
        lambda case: case[0] == "magnet" or case in {("screw", "sunk"), ("pin", "flush")},
    ),
)
def test_every_style_takes_pockets(style: str, kind: str, stores: dict[str, MemoryStore]) -> None:
    values = {"hang.hardware": kind, "heights.style": style, "heights.base_mm": 3.0}
    relief = rs.make(SAMPLES / "kite.png", _recipe("kite.png").with_values(values), store=stores["kite.png"])
    assert_sound(relief)
    assert relief.printable, relief.findings
    assert "overhang" not in {item.code for item in relief.findings}


def test_a_rim_and_a_foot_leave_pockets_sound(stores: dict[str, MemoryStore]) -> None:
    values = {"hang.hardware": "magnet", "heights.foot_mm": 0.2, "base.rim_mm": 0.8, "base.border_mm": 2.0}
    relief = rs.make(SAMPLES / "kite.png", _recipe("kite.png").with_values(values), store=stores["kite.png"])
    assert_sound(relief)


def test_a_magnet_wider_than_a_bridge_holds_is_a_finding(stores: dict[str, MemoryStore]) -> None:
    values = {"hang.hardware": "magnet", "hang.magnet_mm": [12.0, 1.0]}
    relief = rs.make(SAMPLES / "kite.png", _recipe("kite.png").with_values(values), store=stores["kite.png"])
    (item,) = [item for item in relief.findings if item.code == "long-bridge"]
    said = float(item.message.split("bridges ")[1].split(" mm")[0])
    assert said == pytest.approx(12.0 + 0.15, abs=0.06)  # the pocket, said to a tenth
    assert item.at_mm is not None
    assert relief.plan.pockets[0].polygon.covers(shapely.Point(item.at_mm[:2]))


@pytest.mark.parametrize("kind", ["magnet", "pin"])
def test_children_get_no_magnets_and_no_pins(kind: str, stores: dict[str, MemoryStore]) -> None:
    values = {"hang.hardware": kind, "audience": "children"}
    relief = rs.make(SAMPLES / "kite.png", _recipe("kite.png").with_values(values), store=stores["kite.png"])
    assert not relief.printable
    (stop,) = [item for item in relief.findings if item.severity == Severity.STOP]
    assert stop.code == f"{kind}-caution"


def test_the_report_lists_holes_and_pockets(tmp_path: Path, stores: dict[str, MemoryStore]) -> None:
    recipe = _recipe("kite.png").with_values({"hang.hardware": "screw", "hang.holes": 2})
    rs.make(SAMPLES / "kite.png", recipe, store=stores["kite.png"]).write(tmp_path)
    report = json.loads((tmp_path / "kite-report.json").read_text(encoding="utf-8"))
    first, second = report["holes"]
    assert {key: first[key] for key in report["hole"]} == report["hole"]  # the contract's shape stays
    assert first["hardware"] == second["hardware"] == "screw"
    assert first["slot_mm"] is None
    assert {item["kind"] for item in report["pockets"]} == {"countersink"}
    assert report["pockets"][0]["side"] == "front"
    sheet = (tmp_path / "kite-sheet.html").read_text(encoding="utf-8")
    assert "Held by two screws" in sheet
    magnet = rs.make(
        SAMPLES / "kite.png",
        _recipe("kite.png").with_values({"hang.hardware": "magnet"}),
        store=stores["kite.png"],
    )
    magnet.write(tmp_path / "magnet")
    report = json.loads((tmp_path / "magnet" / "kite-report.json").read_text(encoding="utf-8"))
    assert report["hole"] is None
    assert report["holes"] == []
    (pocket,) = report["pockets"]
    assert (pocket["kind"], pocket["depth_mm"]) == ("magnet", 1.2)
    sheet = (tmp_path / "magnet" / "kite-sheet.html").read_text(encoding="utf-8")
    assert "mark their poles" in sheet
