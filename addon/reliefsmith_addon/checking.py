# SPDX-License-Identifier: GPL-3.0-or-later
"""The check of a piece as it stands in the scene: taken, compared with what was made, judged by the core."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.findings import Finding, count_words, finding
from reliefsmith.jobs.checking import check_parts_steps
from reliefsmith.progress import Progress
from reliefsmith.walk.output import as_printed

from . import finish, older, pieces, properties, sculpting, session, showing, standing


def check_steps(scene: bpy.types.Scene, layer: bpy.types.ViewLayer, *, selected: bool = False) -> Any:
    """Return the piece as it stands in the scene, laid as it is printed, and what the core finds on it.

    With `selected` only the selection is taken for it. A generator of small steps.

    Raises
    ------
    ReliefsmithError
        In one plain line, if there is no piece, or it cannot be laid so.
    """
    piece, state = pieces.current(scene), scene.reliefsmith
    recipe, parts = properties.to_recipe(state), standing.taken(piece, layer, selected=selected)
    parts = as_printed(parts, recipe) if state.turned else parts
    made: tuple[Any, ...] = ()
    stale: list[Finding] = []
    if not selected and state.made_recipe:
        yield Progress("looking up what was made", 0.0)
        made, stale = (yield from _made_steps(piece, parts)), _stale(piece)
    found = yield from check_parts_steps(parts, recipe, made=made)
    return parts, (*found, *stale)


def _made_steps(piece: bpy.types.Collection, parts: Any) -> Any:
    """Return the parts as they were made last; those that nobody touched are the ones that stand there."""
    state = piece.reliefsmith
    same = set() if state.turned else standing.untouched(piece)
    here = {part.name: part for part in parts if part.name in same}
    names = [row.name for row in state.parts]
    if set(names) <= here.keys():
        return tuple(here[name] for name in names)
    relief = yield from session.job(state, sculpting.wanted(piece)).relief_steps(older.made_recipe(state))
    made = relief.parts
    if not state.turned:
        made = yield from sculpting.dressed_steps(piece, relief.stack, relief.parts)
    return tuple(here.get(part.name, part) for part in made)


def keep_check(scene: bpy.types.Scene, parts: Any, found: Any, *, selected: bool) -> None:
    """Keep what a check found where the panels read it."""
    state = scene.reliefsmith
    showing.keep_findings(state, found)
    what = "Only the selection checked" if selected else "The whole piece checked"
    state.checked = f"{what}: {count_words(len(parts), 'object')}"


def _stale(piece: bpy.types.Collection) -> list[Finding]:
    """Say which copies stand for parts that are made otherwise now."""
    old = [item for item in finish.copies(piece) if finish.is_stale(piece, item)]
    words = "{} was made from other settings ({}); bring it along, or keep it."
    return [finding("copy-stale", words.format(item.name, finish.since(piece, item))) for item in old]
