# SPDX-License-Identifier: GPL-3.0-or-later
"""One run for the commands, the live updates and the console: settings in, parts in the scene out."""

from __future__ import annotations

import hashlib
import math
from typing import Any

import bpy

from reliefsmith.errors import RecipeError, ReliefsmithError
from reliefsmith.findings import count_words
from reliefsmith.recipe import Recipe

from . import (
    bridge,
    decided,
    hung,
    live,
    looks,
    older,
    pictures,
    pieces,
    properties,
    saying,
    sculpting,
    session,
    stills,
    texthandles,
)


def steps(piece: bpy.types.Collection) -> Any:
    """Return the run of a piece's picture and settings as small steps; the value is the relief.

    Raises
    ------
    ReliefsmithError
        In one plain line, if the picture or the settings cannot be used.
    """
    bridge.refuse_linked(piece)
    state = piece.reliefsmith
    return _steps(piece.name, properties.to_recipe(state))


def _steps(name: str, recipe: Recipe) -> Any:
    """Make a relief; before it take over what waits on a skin, and know parts of an older file again."""
    piece = pieces.named(name)
    if sculpting.waiting(piece) and not bridge.busy(piece):
        yield from sculpting.take_over_steps(piece)
    piece = _there(name)
    job = session.job(piece.reliefsmith, sculpting.wanted(piece))
    if piece.reliefsmith.made_recipe and bridge.unsigned(piece):
        before = yield from job.relief_steps(older.made_recipe(piece.reliefsmith))
        bridge.adopt(_there(name), shown(_there(name).reliefsmith, before))
    return (yield from job.relief_steps(recipe))


def _there(name: str) -> bpy.types.Collection:
    """Return the piece of a name; between two steps it may be deleted.

    Raises
    ------
    RecipeError
        If it was.
    """
    piece = pieces.named(name)
    if piece is None:
        raise RecipeError("the piece was deleted while it was made; make it again")
    return piece


def asked(scene: bpy.types.Scene) -> tuple[str, Any]:
    """Return the name of the piece that is meant, and the run that a command asks for.

    Where a part is being edited, it is made on leaving.

    Raises
    ------
    ReliefsmithError
        As `steps`, and if a part is being edited.
    """
    pending.stop()
    pictures.path(scene.reliefsmith)  # before a piece is begun for nothing
    piece = pieces.begin(scene)
    bridge.refuse_linked(piece)
    pictures.keep(piece.reliefsmith)
    begun = steps(piece)
    words = bridge.busy(piece)
    if words:
        pending.later(piece)
        raise RecipeError(words)
    return piece.name, begun


def made_from(state: Any) -> str:
    """Return a stamp of all that the meshes depend on: settings, picture, and how they are looked at.

    Raises
    ------
    RecipeError
        If the settings cannot be used.
    """
    looked = (state.digest or state.picture, state.cut, state.cut_mm if state.cut else 0.0, state.as_printed)
    looked += (state.show_hardware, state.show_through)
    hand = sculpting.stamp(pieces.of(state))
    text = properties.to_recipe(state).to_toml() + repr(looked) + hand
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


def show(piece: bpy.types.Collection, relief: Any) -> list[str]:
    """Bring the parts of a relief into its piece, keep what was found; returns what was set aside."""
    bridge.refuse_linked(piece)
    scene = pieces.scene_of(piece)
    if scene is None:
        raise RecipeError(f"{piece.name} stands in no scene; link it to one first")
    if not scene.objects and not bridge.in_millimeters(scene):
        bridge.use_millimeters(scene)
    state = piece.reliefsmith
    state.turned = bool(relief.stack.piece) and not state.as_printed
    parts = shown(state, relief)
    matched = {match.part: match.filament for match in relief.result.matching.matches if match.filament}
    first = relief.stack.layer_tops_mm[0]
    state.seam_mm = relief.stack.piece_size_mm[2] - first if state.turned else first
    state.made_recipe = properties.to_recipe(state).to_toml()
    sculpting.bare(piece)
    _keep(state, relief, matched)
    aside = bridge.show(piece, parts, looks.of(state), settings=state.made_recipe, looking=state.cut)
    sculpting.shows(piece, cut=state.cut)
    if parts is not relief.parts and sculpting.skin_mm(piece) and not (state.cut or state.turned):
        sculpting.masked(piece, relief)
    if state.show_through:
        looks.lay_through(piece, relief)
    hung.show(piece, relief)
    state.made_from = made_from(state)
    return aside


def shown(state: Any, relief: Any) -> Any:
    """Return the parts that the scene shows: finished or as printed, whole or cut off."""
    if not state.cut and not state.turned:
        return sculpting.dressed(pieces.of(state), relief)
    return relief.parts_below(state.cut_mm if state.cut else math.inf, finished=state.turned)


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


def _keep(state: Any, relief: Any, filaments: dict[str, Any]) -> None:
    """Put findings, parts and estimate where the panels read them."""
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


def _live_end(name: str, relief: Any) -> None:
    piece = pieces.named(name)
    if piece is not None:
        show(piece, relief)


def _live_fail(name: str, error: Exception) -> None:
    piece = pieces.named(name)
    words = saying.words(error)
    if piece is not None and piece.reliefsmith.trouble != words:
        piece.reliefsmith.trouble = words


@bpy.app.handlers.persistent
def after_undo(scene: bpy.types.Scene, *_: Any) -> None:
    """Make again after undo and redo, where settings and meshes disagree.

    A live run is no step of its own, the setting that began it is. Any other step leaves the meshes alone.
    """
    pending.stop()
    for piece in pieces.all_of(scene):
        state = piece.reliefsmith
        try:
            agrees = not state.estimate or made_from(state) == state.made_from
        except ReliefsmithError:
            agrees = False  # the run says what is wrong
        if not agrees and piece.library is None:
            pending.touch(state, None)


@bpy.app.handlers.persistent
def before_save(path: str, *_: Any) -> None:
    """Write the paths of pictures that are kept beside the file as from there."""
    for scene in bpy.data.scenes:
        for piece in pieces.all_of(scene):
            if piece.library is None:
                pictures.make_relative(piece.reliefsmith, path if isinstance(path, str) else "")


pending = live.Pending(bridge.busy, steps, _live_end, _live_fail)
watch = sculpting.Watch(pending.later)


def register() -> None:
    """Listen to changes of settings, undo and redo."""
    properties.listen(pending.touch)
    watch.begin()
    for handlers in (bpy.app.handlers.undo_post, bpy.app.handlers.redo_post):
        handlers.append(after_undo)
    bpy.app.handlers.save_pre.append(before_save)
    bpy.app.handlers.load_post.append(older.after_load)


def unregister() -> None:
    """Stop listening, and drop what waits."""
    for handlers in (bpy.app.handlers.undo_post, bpy.app.handlers.redo_post):
        handlers.remove(after_undo)
    bpy.app.handlers.save_pre.remove(before_save)
    bpy.app.handlers.load_post.remove(older.after_load)
    watch.end()
    pending.stop()
    stills.stop()
