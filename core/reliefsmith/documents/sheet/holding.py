"""What the sheet says of the hardware: what fits, and how it is fitted after printing."""

from __future__ import annotations

from collections.abc import Sequence

from ...model import Hole, Result
from ..holders import RINGS, Hardware
from ..html import Markup, el, listing, section
from ..wording import NUMBERS, mm, plumb_words

__all__ = ["fitting_items", "hardware_section"]

_GLUE = (
    "Two-part epoxy: gloves, open windows, nothing on the skin, as its maker says. Sanding dust is not for "
    "the lungs."
)
_STRANDS = {
    "split-ring": "two turns of wire",
    "jump-ring": "wire",
    "ball-chain": "balls",
    "cord": "two strands of cord",
}
"""What lies in the hole side by side."""

_WHERE = {
    "artwork": "an opening of the drawing",
    "inside": "a hole inside the base",
    "eyelet": "an eyelet",
}


def hardware_section(result: Result, hardware: Hardware | None) -> Markup:
    """Write what the piece hangs on and what fits."""
    hole = result.plan.hole
    if hardware is None or (hole is None and not result.plan.pockets):
        return section(
            "hardware", "Hanging", el("p", "This piece has no hanging hole and needs no hardware.")
        )
    items = _pocket_items(result, hardware) if hole is None else _hole_items(result, hole, hardware)
    return section("hardware", "Hanging", listing(items))


def fitting_items(hardware: Hardware) -> list[str]:
    """Write how the hardware is fitted after printing."""
    pull = "Pull on it by hand, firmly. What breaks now would have broken in a pocket."
    if hardware.use == "screw":
        return [
            (
                "Hold the piece level and mark the wall through the holes. Search for cables and pipes, wear "
                "eye protection, drill, set anchors that suit the wall."
            ),
            (
                "Turn the screw in by hand until its head is level with the front, no further: a head that "
                "is drawn in splits the base. A step of the countersink in the way is taken off with a "
                "countersink bit turned by hand."
            ),
        ]
    if hardware.use == "magnet":
        return [
            _GLUE,
            (
                "Try the magnet dry, and find the side that faces out: where two magnets are to meet, mark "
                "their poles with a pen before gluing; one that is glued the wrong way round pushes off."
            ),
            (
                "Roughen magnet and pocket, glue with two-part epoxy, wipe off what comes out, and lay the "
                "piece face down on something that is not iron until it is hard."
            ),
            "Pull at the magnet with a larger one. What comes out now would have come out in a hand.",
        ]
    if hardware.use == "tape":
        return [
            (
                "Clean back and wall of dust and grease, and try the piece in its place. Foam tape holds on "
                "smooth faces: tile, glass, lacquer; not on fresh paint or wallpaper."
            ),
            "Press the strips into their fields, pull the liners off, press the piece on and hold it there.",
            "Pull on it by hand after a day. Nothing that could hurt when it falls is held by tape.",
        ]
    if hardware.use == "pin":
        return [
            _GLUE,
            (
                "Roughen bar and pocket, glue the bar in with two-part epoxy, the needle opening downward; "
                "keep glue off joint and catch."
            ),
            "Close the needle when it is hard, and pull on it by hand, firmly.",
        ]
    if hardware.use == "slot":
        return [
            (
                f"Pass the {hardware.noun} through the slot from behind and fold it back over the bridge to"
                " its seam."
            ),
            pull,
        ]
    return [
        (
            f"Pass the {hardware.noun} through the hole; it must swing without "
            "force. A tight hole is opened with a drill bit turned by hand."
        ),
        pull,
    ]


def _hole_items(result: Result, hole: Hole, hardware: Hardware) -> list[str]:
    count = len(result.plan.holes)
    wall = min(item.wall_mm for item in result.plan.holes)
    round_it = f"at least {mm(wall)} mm of plastic round it"
    if hardware.use == "slot" and hole.slot_mm is not None:
        where = "inside the base" if hole.origin == "inside" else "of an eyelet"
        return [
            f"Hangs on a {hardware.words}, in a slot {where}.",
            f"Slot {mm(hole.slot_mm[0])} × {mm(hole.slot_mm[1])} mm, {round_it}.",
            f"It {plumb_words(hole)}.",
        ]
    if hardware.use == "screw":
        held = f"{NUMBERS[count]} screw{'s' if count > 1 else ''}"
        return [
            f"Held by {held}: {hardware.words}.",
            f"Hole {mm(hole.diameter_mm)} mm, {round_it}; countersunk in front.",
            _drilled(result.plan.holes) if count > 1 else f"It {plumb_words(hole)}.",
        ]
    strand = max((hole.diameter_mm - hardware.play_mm) / hardware.turns, 0.0)
    loop = "ring" if hardware.kind in RINGS else "loop"
    two = " Two holes on one level, as far to the left of its balance as to the right." if count > 1 else ""
    return [
        f"Hangs on a {hardware.words}, in {_WHERE[hole.origin]}.{two}",
        f"Hole {mm(hole.diameter_mm)} mm, {round_it}.",
        f"It takes {_STRANDS[hardware.kind]} of up to {mm(strand)} mm, free to swing.",
        f"A {loop} of {mm(2 * (hole.wall_mm + hardware.wire_mm))} mm or more inside swings round its wall.",
        f"It {plumb_words(hole)}.",
    ]


def _drilled(holes: Sequence[Hole]) -> str:
    """Write where the wall is drilled for pairs of screws, each on one level."""
    (x0, y0), (x1, _), *below = (hole.center_mm for hole in holes)
    words = f"Drill the wall {mm(x1 - x0)} mm apart, level"
    if not below:
        return f"{words}."
    return f"{words}, and {mm(below[1][0] - below[0][0])} mm apart {mm(y0 - below[0][1])} mm below."


def _pocket_items(result: Result, hardware: Hardware) -> list[str]:
    pockets = result.plan.pockets
    left, low, right, high = pockets[0].polygon.bounds
    is_round = hardware.use == "magnet"
    size = mm(right - left, 2) if is_round else f"{mm(right - left, 2)} × {mm(high - low, 2)}"
    count = f"{len(pockets)} pockets" if len(pockets) > 1 else "A pocket"
    return [
        f"{count} in the back for a {hardware.words}{' each' if len(pockets) > 1 else ''}; no hole.",
        f"Pocket {size} mm wide and {mm(pockets[0].depth_mm, 2)} mm deep, room for glue counted in.",
        "Its ceiling is printed in the air as a bridge: no support, or it is hard to get out.",
    ]
