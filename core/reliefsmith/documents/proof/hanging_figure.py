"""The piece as it hangs: plumb below what it hangs on, or seen from behind with what holds it there."""

from __future__ import annotations

import math

import numpy as np
from PIL import Image

from ...model import Plan, Result
from ...polygons.cover import View
from ..canvas import At, Canvas
from ..holders import Hardware, bail_mm, draw_bail, draw_hardware
from ..views import Face, back_face, color_picture, shadow_of
from ..wording import NUMBERS, scale_words
from .captions import CAPTION_MM, caption
from .figures import MOST_SCALE, PAD_MM, centered, fitting
from .fixtures import draw_fixtures, draw_screws

__all__ = ["draw_hanging", "pivot_of", "plumb_angle_deg"]

Bounds = tuple[float, float, float, float]

_BAILS = ("cord", "ball-chain")
"""Hardware that goes from one hole to the other; rings hang in each."""


def draw_hanging(canvas: Canvas, at: At, size: At, result: Result, *, face: Face, hardware: Hardware) -> None:
    """Draw the piece on what it hangs on, turned so that its centre of mass is plumb below where it bears.

    With magnets, a pin or tape it is drawn from behind.
    """
    canvas.panel(at, size)
    plan = result.plan
    if plan.center_of_mass_mm is None:
        return
    if plan.hole is None:
        back = back_face(result.stack)
        view, scale = _view(canvas, size, back.bounds)
        whole = color_picture(back, view)
        whole.alpha_composite(draw_fixtures(hardware, plan.pockets, view))
        title, what = "From behind", _with(hardware, len(plan.pockets))
    else:
        turned = face.turned(plumb_angle_deg(plan), pivot_of(plan))
        places = _turned_holes(plan)
        view, scale = _view(canvas, size, _around(turned.bounds, places, hardware))
        behind, before = _drawn(hardware, places, view)
        whole = behind
        whole.alpha_composite(color_picture(turned, view))
        whole.alpha_composite(before)
        title, what = "As it hangs", f"on {_with(hardware, len(plan.holes))[5:]}"
    spot = centered(at, size, view, canvas)
    canvas.paste(shadow_of(whole, view.px_per_mm), spot)
    canvas.paste(whole, spot)
    caption(canvas, at, title, f"{scale_words(scale)}, {what}", room=size[0])


def pivot_of(plan: Plan) -> At:
    """Return the point from which a piece hangs: where it bears, midway where it bears on two."""
    rests = np.array([hole.rest_mm for hole in plan.holes], dtype=np.float64)
    x, y = rests.mean(axis=0).tolist()
    return (x, y)


def plumb_angle_deg(plan: Plan) -> float:
    """Return how far the piece turns counter-clockwise until its centre of mass is below where it bears.

    A centre of mass straight to the right swings down, a quarter turn clockwise. Two screws hold a piece as
    it is set, so it does not turn.
    """
    if plan.hole is None or plan.center_of_mass_mm is None:
        return 0.0
    if plan.hole.hardware == "screw" and len(plan.holes) > 1:
        return 0.0
    x, y = pivot_of(plan)
    right, down = plan.center_of_mass_mm[0] - x, y - plan.center_of_mass_mm[1]
    return -math.degrees(math.atan2(right, down))


def _turned_holes(plan: Plan) -> list[tuple[At, At]]:
    """Return centre and resting point of each hole, turned with the piece."""
    angle, pivot = math.radians(plumb_angle_deg(plan)), np.array(pivot_of(plan))
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])

    def turned(point: At) -> At:
        away = np.array(point) - pivot
        x, y = (pivot + (turn * away).sum(axis=1)).tolist()
        return (x, y)

    return [(turned(hole.center_mm), turned(hole.rest_mm)) for hole in plan.holes]


def _drawn(hardware: Hardware, places: list[tuple[At, At]], view: View) -> tuple[Image.Image, Image.Image]:
    """Draw the hardware behind and before the piece."""
    rests = [rest for _, rest in places]
    if hardware.use == "screw":
        centers = [center for center, _ in places]
        return Image.new("RGBA", view.size_px), draw_screws(hardware, centers, view)
    if len(rests) > 1 and hardware.kind in _BAILS:
        return draw_bail(hardware, rests, view)
    behind, before = draw_hardware(hardware, rests[0], view)
    for rest in rests[1:]:
        for whole, more in zip((behind, before), draw_hardware(hardware, rest, view), strict=True):
            whole.alpha_composite(more)
    return behind, before


def _around(bounds: Bounds, places: list[tuple[At, At]], hardware: Hardware) -> Bounds:
    """Return the bounds of a piece with its hardware."""
    low_x, low_y, high_x, high_y = bounds
    if hardware.use == "screw":
        return bounds
    rests = [rest for _, rest in places]
    reach = hardware.outer_mm / 2
    rise = hardware.outer_mm
    if len(rests) > 1 and hardware.kind in _BAILS:
        rise = bail_mm(hardware, rests) + 2 * hardware.wire_mm
    return (
        min(low_x, *(x - reach for x, _ in rests)),
        low_y,
        max(high_x, *(x + reach for x, _ in rests)),
        max(high_y, *(y + rise for _, y in rests), high_y),
    )


def _view(canvas: Canvas, size: At, bounds: Bounds) -> tuple[View, float]:
    low_x, low_y, high_x, high_y = bounds
    room = (size[0] - 2 * PAD_MM, size[1] - CAPTION_MM - 2 * PAD_MM + 2.0)
    scale = fitting((high_x - low_x, high_y - low_y), room, MOST_SCALE)
    return View.around(bounds, canvas.px_per_mm * scale, pad_mm=1.5), scale


def _with(hardware: Hardware, count: int) -> str:
    """Write "with a magnet", "with two screws"."""
    word = "brooch pin" if hardware.kind == "pin" else hardware.noun
    if count == 1 or (count > 1 and hardware.kind in _BAILS):
        return f"with a {word}"
    words = "strips of tape" if hardware.kind == "tape" else f"{word}s"
    return f"with {NUMBERS[count]} {words}"
