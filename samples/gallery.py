"""Draw every preset and every style on one sheet, on the samples: `python samples/gallery.py`.

Presets are listed, not named here, so a new one appears by itself.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from PIL import Image, ImageDraw

import reliefsmith as rs
from reliefsmith.documents.canvas import GREY, At, Canvas
from reliefsmith.documents.cutaway import cut
from reliefsmith.documents.holders import draw_hardware, hardware_of
from reliefsmith.documents.proof.fixtures import draw_fixtures, draw_screws
from reliefsmith.documents.proof.hanging_figure import pivot_of, plumb_angle_deg
from reliefsmith.documents.views import back_face, color_picture, front_face, shadow_of
from reliefsmith.polygons.cover import View
from reliefsmith.recipe.presets import preset_names, with_preset
from reliefsmith.recipe.recipe import spec_of
from reliefsmith.walk.store import MemoryStore

_HERE = Path(__file__).resolve().parent
_COLUMNS, _DPI, _COLORS = 5, 120, 256
_PANEL: At = (56.0, 62.0)
_GAP, _PAD, _WORDS = 3.0, 2.5, 8.0
_ROOM: At = (_PANEL[0] - 2 * _PAD, _PANEL[1] - 2 * _PAD - _WORDS)
_CUT_MM, _HIGHEST_MM = 9.0, 4.0  # how high a cut is drawn, and for what height of a piece
_SHOWN_MM = 9.0  # of what a piece hangs on
_PICTURES = ("kite.png", "lantern.png", "heron.jpg")
_SIGNED = {1: "Mirabel", 2: "Larkwater | Kite Day", 3: "Mirabel Tobin | Reed Lane 7 | Larkwater"}
"""What stands in place of a preset's example words, by their lines."""


def pieces() -> Iterator[tuple[str, rs.Recipe, str]]:
    """Yield title, recipe and picture of everything on the sheet."""
    for name in preset_names():
        picture = _PICTURES[sum(name.encode()) % len(_PICTURES)]  # the same, whatever ships beside it
        yield name, _signed(with_preset(_colored(picture), name)), picture
    for style in spec_of("heights.style").choices[1:]:
        recipe = _colored("kite.png").with_values({"heights.style": style})
        yield f"style: {style}", recipe, "kite.png"


def _colored(picture: str) -> rs.Recipe:
    """Return a recipe with nothing but a sample's own colors and background."""
    own = rs.Recipe.load((_HERE / picture).with_suffix(".toml"))
    return rs.Recipe().merged({"colors": own.plain("colors"), "background": own.plain("background")})


def _signed(recipe: rs.Recipe) -> rs.Recipe:
    """Return a recipe with words of the scenario for its example words."""
    texts = [
        {**table, "text": _SIGNED[table["text"].count("|") + 1]}
        if recipe.form.example and recipe.form.example in table["text"]
        else table
        for table in recipe.plain("lettering")
    ]
    return recipe.merged({"lettering": texts})


def _view(bounds: tuple[float, float, float, float], room_mm: At, px_per_mm: float) -> View:
    """Return the view that shows a box as large as a room of the sheet can."""
    wide, high = bounds[2] - bounds[0], bounds[3] - bounds[1]
    scale = min(room_mm[0] / wide, room_mm[1] / high) * px_per_mm
    return View.around(bounds, 0.94 * scale, pad_mm=0.02 * max(wide, high))


def _front(relief: rs.Relief, room_mm: At, px_per_mm: float) -> Image.Image:
    """Return the front as it hangs, with a short end of what it hangs on, or with its screws."""
    plan, hardware = relief.plan, hardware_of(relief.result)
    face = front_face(relief.stack)
    if plan.hole is None or hardware is None:
        return color_picture(face, _view(face.bounds, room_mm, px_per_mm))
    if hardware.use == "screw":
        view = _view(face.bounds, room_mm, px_per_mm)
        picture = color_picture(face, view)
        picture.alpha_composite(draw_screws(hardware, [hole.center_mm for hole in plan.holes], view))
        return picture
    turned = face.turned(plumb_angle_deg(plan), pivot_of(plan))
    left, low, right, high = turned.bounds
    view = _view((left, low, right, max(high, pivot_of(plan)[1] + _SHOWN_MM)), room_mm, px_per_mm)
    whole, before = draw_hardware(hardware, pivot_of(plan), view)
    whole.alpha_composite(color_picture(turned, view))
    whole.alpha_composite(before)
    return whole


def _back(relief: rs.Relief, room_mm: At, px_per_mm: float) -> Image.Image | None:
    """Return the back where there is something in it."""
    pockets = [pocket for pocket in relief.plan.pockets if pocket.side == "back"]
    if not pockets and all(item.side == "front" for item in relief.plan.texts):
        return None
    face = back_face(relief.stack)
    view = _view(face.bounds, room_mm, px_per_mm)
    picture = color_picture(face, view)
    hardware = hardware_of(relief.result)
    if pockets and hardware is not None:
        picture.alpha_composite(draw_fixtures(hardware, pockets, view))
    return picture


def _section(relief: rs.Relief, room_mm: At, px_per_mm: float) -> Image.Image:
    """Return the piece cut open as it lies on the bed, heights drawn larger."""
    section, colors = cut(relief.stack), [part.color for part in relief.parts]
    left, right = section.x_mm
    across, up = room_mm[0] * px_per_mm / (right - left), room_mm[1] * px_per_mm / _HIGHEST_MM
    size = (round(room_mm[0] * px_per_mm), round(room_mm[1] * px_per_mm))
    picture = Image.new("RGBA", size)
    for band in section.bands:
        outline = [(x, top) for x, top in band.profile]
        outline += [(x, band.bottom_mm) for x, _ in reversed(band.profile)]
        points = [((x - left) * across, size[1] - z * up) for x, z in outline]
        ImageDraw.Draw(picture).polygon(points, fill=(*colors[band.part], 255))
    return picture


def _pictures(relief: rs.Relief, px_per_mm: float, *, cut_open: bool) -> list[tuple[Image.Image, At]]:
    """Return the front with its middle, and what else tells most: the back, of a style the cut."""
    room, (left, low, right, high) = _ROOM, relief.plan.base.bounds
    is_wide = right - left > high - low
    halves = {True: (room[0], room[1] / 2), False: (room[0] / 2, room[1])}
    half = halves[is_wide]
    back = _back(relief, half, px_per_mm)
    middle = (_PANEL[0] / 2, _PAD + room[1] / 2)
    if cut_open:
        rooms = ((room[0], room[1] - _CUT_MM - _PAD), (room[0] - 10.0, _CUT_MM))
        places = (_PAD + rooms[0][1] / 2, _PAD + room[1] - _CUT_MM / 2)
        drawn = (_front(relief, rooms[0], px_per_mm), _section(relief, rooms[1], px_per_mm))
        return [(one, (middle[0], y)) for one, y in zip(drawn, places, strict=True)]
    if back is None:
        return [(_front(relief, room, px_per_mm), middle)]
    away = (0.0, room[1] / 4) if is_wide else (room[0] / 4, 0.0)
    first, second = ((middle[0] - away[0], middle[1] - away[1]), (middle[0] + away[0], middle[1] + away[1]))
    return [(_front(relief, half, px_per_mm), first), (back, second)]


def sheet(shown: list[tuple[str, rs.Recipe, str]]) -> Canvas:
    """Draw a panel for each: its picture, its name and its size."""
    rows = -(-len(shown) // _COLUMNS)
    across, down = (side + _GAP for side in _PANEL)
    canvas = Canvas(_COLUMNS * across - _GAP, rows * down - _GAP, _DPI)
    stores = {picture: MemoryStore(keep=40) for picture in _PICTURES}
    for number, (name, recipe, picture) in enumerate(shown):
        relief = rs.make(_HERE / picture, recipe, store=stores[picture])
        at = (number % _COLUMNS * across, number // _COLUMNS * down)
        canvas.panel(at, _PANEL)
        for drawn, (x, y) in _pictures(relief, canvas.px_per_mm, cut_open=name not in preset_names()):
            wide, high = (side / canvas.px_per_mm for side in drawn.size)
            spot = (at[0] + x - wide / 2, at[1] + y - high / 2)
            canvas.paste(shadow_of(drawn, canvas.px_per_mm), spot)
            canvas.paste(drawn, spot)
        left, low, right, high = relief.plan.base.bounds
        middle, line = at[0] + _PANEL[0] / 2, at[1] + _PANEL[1] - _PAD
        canvas.text((middle, line - 4.0), name, size=8.0, bold=True, anchor="ms")
        size = f"{right - left:.0f} x {high - low:.0f} x {relief.stack.layer_tops_mm[-1]:.1f} mm"
        canvas.text((middle, line), size, size=7.0, fill=GREY, anchor="ms")
    return canvas


def main(folder: Path = _HERE / "gallery") -> None:
    """Write the sheet into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "gallery.png"
    image = sheet(list(pieces())).image.quantize(_COLORS, dither=Image.Dither.NONE)
    image.save(path, optimize=True)
    print(f"{path.stat().st_size / 1000:.0f} kB  {path}")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
