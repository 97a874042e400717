# SPDX-License-Identifier: GPL-3.0-or-later
"""What a run came to, brought into the scene: parts in the view, findings and estimate for the panels."""

from __future__ import annotations

import hashlib
import math
from typing import Any

import bpy

from reliefsmith.errors import RecipeError
from reliefsmith.findings import count_words
from reliefsmith.progress import Progress, drain
from reliefsmith.recipe import Recipe
from reliefsmith.solid.cut import parts_below

from . import bridge, decided, hung, looks, pieces, properties, sculpting, texthandles


def made_from(state: Any) -> str:
    """Return a stamp of all that the meshes depend on: settings, picture, and how they are looked at.

    Raises
    ------
    RecipeError
        If the settings cannot be used.
    """
    looked = (state.digest or state.picture, state.cut, state.cut_mm if state.cut else 0.0, state.as_printed)
    looked += (state.show_hardware, state.show_through, state.show_accessories)
    hand = sculpting.stamp(pieces.of(state))
    text = properties.to_recipe(state).to_toml() + repr(looked) + hand
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


def show(piece: bpy.types.Collection, relief: Any) -> list[str]:
    """Bring the parts of a relief into its piece, keep what was found; returns what was set aside."""
    _scene(piece)
    keep(piece.reliefsmith, relief)
    built = (relief.stack, relief.parts)
    seen = drain(shown_steps(piece.reliefsmith, *built))
    aside = view(piece, properties.to_recipe(piece.reliefsmith), *built, seen)
    complete(piece, relief)
    return aside


def view(piece: bpy.types.Collection, recipe: Recipe, stack: Any, parts: Any, seen: Any) -> list[str]:
    """Bring what a recipe made into its piece, as it is seen (`shown_steps`); returns what was set aside."""
    scene = _scene(piece)
    if not scene.objects and not bridge.in_millimeters(scene):
        bridge.use_millimeters(scene)
    state = piece.reliefsmith
    state.turned = _is_turned(state, stack)
    first = stack.layer_tops_mm[0]
    state.seam_mm = stack.piece_size_mm[2] - first if state.turned else first
    state.made_recipe = recipe.to_toml()
    sculpting.bare(piece, seen if sculpting.skin_mm(piece) and not state.cut else ())
    aside = bridge.show(piece, seen, looks.of(state), settings=state.made_recipe, looking=state.cut)
    sculpting.shows(piece, cut=state.cut)
    if seen is not parts and sculpting.skin_mm(piece) and not (state.cut or state.turned):
        sculpting.masked(piece, stack, parts)
    return aside


def _scene(piece: bpy.types.Collection) -> bpy.types.Scene:
    """Return the scene of a piece that can be written to.

    Raises
    ------
    RecipeError
        If it belongs to another file, or stands in no scene.
    """
    bridge.refuse_linked(piece)
    scene = pieces.scene_of(piece)
    if scene is None:
        raise RecipeError(f"{piece.name} stands in no scene; link it to one first")
    return scene


def complete(piece: bpy.types.Collection, relief: Any) -> None:
    """Show what comes on top of the parts, and note that all is there."""
    if piece.reliefsmith.show_through:
        looks.lay_through(piece, relief)
    hung.show(piece, relief)
    piece.reliefsmith.made_from = made_from(piece.reliefsmith)


def shown_steps(state: Any, stack: Any, parts: Any) -> Any:
    """Return the parts that the scene shows: finished or as printed, whole or cut off."""
    if not state.cut and not _is_turned(state, stack):
        return (yield from sculpting.dressed_steps(pieces.of(state), stack, parts))
    yield Progress("looking inside")
    return parts_below(stack, state.cut_mm if state.cut else math.inf, finished=_is_turned(state, stack))


def _is_turned(state: Any, stack: Any) -> bool:
    """Return whether the piece is seen with its front up and printed otherwise."""
    return bool(stack.piece) and not state.as_printed


def keep_findings(state: Any, findings: Any) -> None:
    """Put findings where the panels read them."""
    state.trouble, state.checked = "", ""
    state.finding = -1
    state.findings.clear()
    for found in findings:
        item = state.findings.add()
        item.code, item.severity, item.message = found.code, str(found.severity), found.message
        item.has_place = found.at_mm is not None
        item.place = found.at_mm or (0, 0, 0)


def keep(state: Any, relief: Any) -> None:
    """Put findings, parts and estimate where the panels read them."""
    filaments = {match.part: match.filament for match in relief.result.matching.matches if match.filament}
    keep_findings(state, relief.findings)
    estimate = relief.inspection.estimate
    shares = _shares(relief.areas)
    state.parts.clear()
    for part in relief.parts:
        row = state.parts.add()
        row.name, row.role = part.name, part.role
        row.color = [value / 255 for value in relief.result.drawn.get(part.name, part.color)]
        row.mass_g = estimate.mass_g[part.name]
        row.share = shares.get(properties.hex_of(row.color), 0.0)
        if part.name in filaments:
            row.filament, row.filament_finish = filaments[part.name].name, filaments[part.name].finish
    changes = count_words(estimate.changes, "color change")
    x0, y0, x1, y1 = relief.plan.base.bounds
    height = relief.stack.layer_tops_mm[-1]
    state.size_text = f"{x1 - x0:.1f} x {y1 - y0:.1f} x {height:.1f} mm"
    decided.keep(state, relief.result)
    texthandles.keep(state, relief.plan.texts)
    state.has_hole = relief.plan.hole is not None
    state.hole = relief.plan.hole.center_mm if relief.plan.hole else (0, 0)
    state.estimate = f"{estimate.mass_g_total:.1f} g, about {estimate.time_min:.0f} min, {changes}"


def _shares(areas: Any) -> dict[str, float]:
    """Return which share of the artwork each flat color has."""
    whole = sum(polygon.area for polygon in areas.polygons)
    pairs = zip(areas.colors.tolist(), areas.polygons, strict=True)
    return {"#{:02x}{:02x}{:02x}".format(*color): polygon.area / whole for color, polygon in pairs}
