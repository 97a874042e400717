"""Draw the five judgements for the README, on the samples: `python samples/judgements.py`."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from PIL import Image, ImageDraw
from shapely import affinity

import reliefsmith as rs
from reliefsmith.documents.canvas import AXIS, INK, PAPER, At, Canvas
from reliefsmith.documents.proof.hanging_figure import pivot_of, plumb_angle_deg
from reliefsmith.documents.views import Face, color_picture, front_face, shadow_of
from reliefsmith.polygons.cover import View
from reliefsmith.progress import drain

_HERE = Path(__file__).resolve().parent
_PANEL: At = (54.0, 44.0)
_GAP, _PAD, _WORDS = 4.0, 2.5, 6.0
_DPI = 170
_INKS, _CORNER = (714, 606, 768, 660), (438, 404, 464, 430)
"""What is enlarged, as boxes in pixels: the heron's reeds, and where four colors of the kite meet."""
_ASIDE_MM = [-10.0, 30.0]  # a place for the hole as one might pick it
_COLORS = 256  # of a written picture: it has few, and their blends


class Strip:
    """Panels side by side, each with a line of words."""

    def __init__(self, count: int, panel: At = _PANEL) -> None:
        self.size = panel
        self.canvas = Canvas(count * panel[0] + (count - 1) * _GAP, panel[1], _DPI)
        self.used = 0

    @property
    def room(self) -> At:
        """Width and height that a picture may take, in px."""
        width, height = self.size[0] - 2 * _PAD, self.size[1] - 2 * _PAD - _WORDS
        return (self.canvas.px(width), self.canvas.px(height))

    def add(self, picture: Image.Image, words: str) -> None:
        """Put a picture into the middle of the next panel."""
        at = (self.used * (self.size[0] + _GAP), 0.0)
        self.used += 1
        self.canvas.panel(at, self.size)
        per_mm = self.canvas.px_per_mm
        free = [(room - side) / 2 / per_mm for room, side in zip(self.room, picture.size, strict=True)]
        spot = (at[0] + _PAD + free[0], at[1] + _PAD + free[1])
        if picture.mode == "RGBA":
            self.canvas.paste(shadow_of(picture, per_mm), spot)
        self.canvas.paste(picture, spot)
        place = (at[0] + self.size[0] / 2, at[1] + self.size[1] - _PAD)
        text, size = self.canvas.fitted(words, self.size[0] - 2 * _PAD, size=8.0)
        self.canvas.text(place, text, size=size, anchor="ms")

    def view(self, bounds: tuple[float, float, float, float]) -> View:
        """Return the view that shows a box in mm as large as a panel can."""
        low_x, low_y, high_x, high_y = bounds
        scale = min(self.room[0] / (high_x - low_x), self.room[1] / (high_y - low_y))
        return View.around(bounds, scale * 0.92, pad_mm=2.5)


def _zoomed(picture: Image.Image, box: tuple[int, int, int, int], room: At) -> tuple[Image.Image, int]:
    """Enlarge a square of a picture to whole multiples of its pixels; returns it and by how much."""
    times = int(min(room) // (box[2] - box[0]))
    side = times * (box[2] - box[0])
    return picture.convert("RGB").crop(box).resize((side, side), Image.Resampling.NEAREST), times


def _count(picture: Image.Image) -> int:
    """Return how many colors a picture has."""
    return len(np.unique(np.asarray(picture).reshape(-1, 3), axis=0))


def _flat(shapes: Sequence[shapely.Geometry], colors: Sequence[Sequence[int]]) -> Face:
    """Return shapes that do not overlap as a face on one level."""
    told = tuple((int(red), int(green), int(blue)) for red, green, blue in colors)
    return Face(tuple(shapes), tuple(shapes), tuple(range(len(told))), told, (0.0,) * len(told))


def _job(name: str, suffix: str = "png") -> tuple[rs.Job, rs.Recipe]:
    return rs.Job(_HERE / f"{name}.{suffix}"), rs.Recipe.load(_HERE / f"{name}.toml")


def which_colors() -> Strip:
    """Show noisy ink on paper, and the flat colors that its pixels are given."""
    job, recipe = _job("heron", "jpg")
    found = drain(job.steps(recipe, "separation"))
    strip = Strip(2)
    read, flat = found["artwork"].rgb, found["separation"]
    ground = np.array([flat.background or PAPER], dtype=np.uint8)
    labelled = np.concatenate([ground, flat.colors])[flat.labels]
    pixels, judged = (_zoomed(Image.fromarray(one), _INKS, strip.room)[0] for one in (read, labelled))
    strip.add(pixels, f"pixels: {_count(pixels):,} colors")
    strip.add(judged, f"judged: {_count(judged)}")
    return strip


def which_edges() -> Strip:
    """Show the pixels where colors meet, and the boundaries that neighbors share, laid over them."""
    job, recipe = _job("kite")
    found = drain(job.steps(recipe, "traced"))
    strip = Strip(2)
    art = found["artwork"]
    plain = Image.new("RGB", (art.rgb.shape[1], art.rgb.shape[0]), PAPER)
    plain.paste(Image.fromarray(art.rgb), mask=Image.fromarray((255 * art.alpha).round().astype(np.uint8)))
    pixels, times = _zoomed(plain, _CORNER, strip.room)
    lined = Image.blend(pixels, Image.new("RGB", pixels.size, PAPER), 0.35)
    draw = ImageDraw.Draw(lined)
    for polygon in found["traced"].polygons:
        for ring in shapely.get_rings(shapely.get_parts(polygon)):
            points = (shapely.get_coordinates(ring) - _CORNER[:2]) * times
            draw.line([(float(x), float(y)) for x, y in points], fill=INK, width=3, joint="curve")
    strip.add(pixels, "pixels: edges are blends")
    strip.add(lined, "judged: one line between neighbors")
    return strip


def what_carries() -> Strip:
    """Show the art, which falls apart, and the base that holds it together."""
    job, recipe = _job("kite")
    relief = job.relief(recipe)
    strip = Strip(2, (_PANEL[0], 66.0))
    view = strip.view(relief.plan.base.bounds)
    strip.add(color_picture(_flat(relief.areas.polygons, relief.areas.colors), view), "the art alone")
    shapes = [relief.plan.base, *(item.polygon for item in relief.plan.motifs)]
    left = [shape - shapely.union_all(shapes[number + 1 :]) for number, shape in enumerate(shapes)]
    colors = [relief.plan.base_color, *(item.color for item in relief.plan.motifs)]
    strip.add(color_picture(_flat(left, colors), view), "judged: what carries it, in one piece")
    return strip


def where_it_hangs() -> Strip:
    """Show how the piece hangs by a hole that was put aside, and by the one that was judged."""
    job, recipe = _job("kite")
    strip = Strip(2, (_PANEL[0], 66.0))
    for words, asked in (("a hole aside", recipe.with_values({"hang.at_mm": _ASIDE_MM})), ("judged", recipe)):
        relief = job.relief(asked)
        plan, turn = relief.plan, plumb_angle_deg(relief.plan)
        face = front_face(relief.stack).turned(turn, pivot_of(plan))
        view = strip.view(face.bounds)
        picture = color_picture(face, view)
        top, center = shapely.Point(pivot_of(plan)), shapely.Point(plan.center_of_mass_mm)
        hung = affinity.rotate(center, turn, origin=top)
        (x, y), (center_x, center_y) = view.to_px(np.array([(top.x, top.y), (hung.x, hung.y)])).tolist()
        draw = ImageDraw.Draw(picture)
        draw.line([(x, y), (x, picture.size[1])], fill=AXIS, width=2)
        spot = [center_x - 8, center_y - 8, center_x + 8, center_y + 8]
        draw.ellipse(spot, fill=AXIS, outline=PAPER, width=2)
        strip.add(picture, f"{words}: {abs(turn):.0f} degrees askew")
    return strip


def in_what_order() -> Strip:
    """Show the piece as it grows from change to change of filament."""
    job, recipe = _job("kite")
    relief = job.relief(recipe)
    parts = sorted(relief.parts, key=lambda part: float(part.vertices[:, 2].max()))
    strip = Strip(4, (40.0, 66.0))
    view = strip.view(front_face(relief.stack).bounds)
    for part in parts:
        top = float(part.vertices[:, 2].max())
        slabs = tuple(slab for slab in relief.stack.slabs if slab.highest_mm < top + 1e-6)
        grown = front_face(replace(relief.stack, slabs=slabs))
        strip.add(color_picture(grown, view), f"{part.name}, to {top:.1f} mm")
    return strip


PICTURES = {
    "judged-colors": which_colors,
    "judged-edges": which_edges,
    "judged-base": what_carries,
    "judged-hanging": where_it_hangs,
    "judged-order": in_what_order,
}


def main(folder: Path = _HERE) -> None:
    """Write the five pictures into a folder."""
    for name, made in PICTURES.items():
        image = made().canvas.image.quantize(_COLORS, dither=Image.Dither.NONE)
        path = folder / f"{name}.png"
        image.save(path, optimize=True)
        print(f"{path.stat().st_size / 1000:.0f} kB  {path}")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
