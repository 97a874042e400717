# SPDX-License-Identifier: GPL-3.0-or-later
"""One run for the commands, the live updates and the console: settings in, parts in the scene out."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.errors import RecipeError, ReliefsmithError
from reliefsmith.progress import Progress
from reliefsmith.recipe import Recipe

from . import (
    bridge,
    live,
    looks,
    older,
    pictures,
    pieces,
    properties,
    saying,
    sculpting,
    session,
    showing,
    stills,
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
    """Make a relief."""
    job = yield from _job_steps(name)
    return (yield from job.relief_steps(recipe))


def live_steps(piece: bpy.types.Collection) -> Any:
    """Return the run as `steps` does; parts come into the view once they are built, findings follow.

    Raises
    ------
    ReliefsmithError
        As `steps`.
    """
    bridge.refuse_linked(piece)
    return _live_steps(piece.name, properties.to_recipe(piece.reliefsmith))


def _live_steps(name: str, recipe: Recipe) -> Any:
    job = yield from _job_steps(name)
    values = yield from job.steps(session.with_paths(recipe), "parts")
    built = (values["stacked"], values["parts"])
    seen = yield from showing.shown_steps(_there(name).reliefsmith, *built)
    showing.view(_there(name), recipe, *built, seen)
    _there(name).reliefsmith.checked = "Findings and estimate are of before the last change"
    yield Progress("in the view")
    return (yield from job.relief_steps(recipe))


def _job_steps(name: str) -> Any:
    """Return the job of a piece; before it take over what waits on a skin, and know older parts again."""
    piece = pieces.named(name)
    if sculpting.waiting(piece) and not bridge.busy(piece):
        yield from sculpting.take_over_steps(piece)
    piece = _there(name)
    job = session.job(piece.reliefsmith, sculpting.wanted(piece))
    if piece.reliefsmith.made_recipe and bridge.unsigned(piece):
        before = yield from job.relief_steps(older.made_recipe(piece.reliefsmith))
        seen = yield from showing.shown_steps(_there(name).reliefsmith, before.stack, before.parts)
        bridge.adopt(_there(name), seen)
    return job


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


def _live_end(name: str, relief: Any) -> None:
    piece = pieces.named(name)
    if piece is not None:
        showing.keep(piece.reliefsmith, relief)
        looks.show(piece)
        showing.complete(piece, relief)


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
            agrees = not state.estimate or showing.made_from(state) == state.made_from
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


pending = live.Pending(bridge.busy, live_steps, _live_end, _live_fail)
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
