# SPDX-License-Identifier: GPL-3.0-or-later
"""One run for the commands, the live updates and the console: settings in, parts in the scene out."""

from __future__ import annotations

import hashlib
import math
from typing import Any

import bpy

from reliefsmith.documents.wording import style_words
from reliefsmith.errors import RecipeError, ReliefsmithError
from reliefsmith.output import as_printed
from reliefsmith.pipeline import check_parts

from . import bridge, colors, commands, live, properties, session, standing


def steps(scene: bpy.types.Scene) -> Any:
    """Return the run of a scene's picture and settings as small steps; the value is the relief.

    Raises
    ------
    ReliefsmithError
        In one plain line, if the picture or the settings cannot be used.
    """
    bridge.refuse_linked(scene)
    state = scene.reliefsmith
    return session.job(state.picture).relief_steps(properties.to_recipe(state))


def asked(scene: bpy.types.Scene) -> Any:
    """Return the run that a command asks for; where a part is being edited, it is made on leaving.

    Raises
    ------
    ReliefsmithError
        As `steps`, and if a part is being edited.
    """
    pending.stop()
    begun = steps(scene)
    words = bridge.busy(scene)
    if words:
        pending.later(scene)
        raise RecipeError(words)
    return begun


def made_from(state: Any) -> str:
    """Return a stamp of all that the meshes depend on: settings, picture, and how they are looked at.

    Raises
    ------
    RecipeError
        If the settings cannot be used.
    """
    looked = (state.picture, state.cut, state.cut_mm if state.cut else 0.0, state.as_printed)
    text = properties.to_recipe(state).to_toml() + repr(looked)
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


def show(scene: bpy.types.Scene, relief: Any) -> list[str]:
    """Bring the parts of a relief into the scene, keep what was found; returns what was set aside."""
    bridge.refuse_linked(scene)
    new = bridge.find(scene, bridge.JOB) is None
    if new and not scene.objects and not bridge.in_millimeters(scene):
        bridge.use_millimeters(scene)
    state = scene.reliefsmith
    state.turned = bool(relief.stack.piece) and not state.as_printed
    parts = shown(state, relief)
    matched = {match.part: match.filament for match in relief.result.matching.matches if match.filament}
    finishes = {part: filament.finish for part, filament in matched.items()}
    aside = bridge.show(scene, parts, finishes, looking=state.cut)
    _keep(state, relief, {part: filament.name for part, filament in matched.items()})
    state.made_from = made_from(state)
    return aside


def shown(state: Any, relief: Any) -> Any:
    """Return the parts that the scene shows: finished or as printed, whole or cut off."""
    if not state.cut and not state.turned:
        return relief.parts
    return relief.parts_below(state.cut_mm if state.cut else math.inf, finished=state.turned)


def check(scene: bpy.types.Scene, layer: bpy.types.ViewLayer, *, selected: bool = False) -> tuple[Any, Any]:
    """Return the piece as it stands in the scene, laid as it is printed, and what the core finds on it.

    With `selected` only the selection is taken for it.

    Raises
    ------
    ReliefsmithError
        In one plain line, if there is no piece, or it cannot be laid so.
    """
    state = scene.reliefsmith
    recipe, parts = properties.to_recipe(state), standing.piece(scene, layer, selected=selected)
    parts = as_printed(parts, recipe) if state.turned else parts
    found = check_parts(parts, recipe)
    _keep_findings(state, found)
    what = "Only the selection checked" if selected else "The whole piece checked"
    state.checked = f"{what}: {len(parts)} object{'s' if len(parts) != 1 else ''}"
    return parts, found


def _keep_findings(state: Any, findings: Any) -> None:
    """Put findings where the panels read them."""
    state.trouble, state.checked = "", ""
    state.findings.clear()
    for found in findings:
        item = state.findings.add()
        item.code, item.severity, item.message = found.code, str(found.severity), found.message
        item.has_place = found.at_mm is not None
        item.place = found.at_mm or (0, 0, 0)


def _keep(state: Any, relief: Any, filaments: dict[str, str]) -> None:
    """Put findings, parts and estimate where the panels read them."""
    _keep_findings(state, relief.findings)
    estimate = relief.inspection.estimate
    shares = _shares(relief.areas)
    colors.list_set_aside(state, relief.result.recipe)
    state.parts.clear()
    for part in relief.parts:
        row = state.parts.add()
        row.name, row.role = part.name, part.role
        row.color = [value / 255 for value in part.color]
        row.mass_g = estimate.mass_g[part.name]
        row.share = shares.get(properties.hex_of(row.color), 0.0)
        row.filament = filaments.get(part.name, "")
    changes = f"{estimate.changes} color change{'s' if estimate.changes != 1 else ''}"
    x0, y0, x1, y1 = relief.plan.base.bounds
    height = relief.stack.layer_tops_mm[-1]
    state.size_text = f"{x1 - x0:.1f} x {y1 - y0:.1f} x {height:.1f} mm"
    state.style_taken = style_words(relief.result)
    state.estimate = f"{estimate.mass_g_total:.1f} g, about {estimate.time_min:.0f} min, {changes}"


def _shares(areas: Any) -> dict[str, float]:
    """Return which share of the artwork each flat color has."""
    whole = sum(polygon.area for polygon in areas.polygons)
    pairs = zip(areas.colors.tolist(), areas.polygons, strict=True)
    return {"#{:02x}{:02x}{:02x}".format(*color): polygon.area / whole for color, polygon in pairs}


def _live_end(name: str, relief: Any) -> None:
    scene = bpy.data.scenes.get(name)
    if scene is not None:
        show(scene, relief)


def _live_fail(name: str, error: Exception) -> None:
    scene = bpy.data.scenes.get(name)
    words = commands.words(error)
    if scene is not None and scene.reliefsmith.trouble != words:
        scene.reliefsmith.trouble = words


@bpy.app.handlers.persistent
def after_undo(scene: bpy.types.Scene, *_: Any) -> None:
    """Make again after undo and redo, where settings and meshes disagree.

    A live run is no step of its own, the setting that began it is. Any other step leaves the meshes alone.
    """
    state = scene.reliefsmith
    if not state.estimate:
        return
    try:
        agrees = made_from(state) == state.made_from
    except ReliefsmithError:
        agrees = False  # the run says what is wrong
    if agrees:
        pending.stop()
    else:
        pending.touch(state, None)


pending = live.Pending(bridge.busy, steps, _live_end, _live_fail)


def register() -> None:
    """Listen to changes of settings, undo and redo."""
    properties.listen(pending.touch)
    for handlers in (bpy.app.handlers.undo_post, bpy.app.handlers.redo_post):
        handlers.append(after_undo)


def unregister() -> None:
    """Stop listening, and drop what waits."""
    for handlers in (bpy.app.handlers.undo_post, bpy.app.handlers.redo_post):
        handlers.remove(after_undo)
    pending.stop()
