# SPDX-License-Identifier: GPL-3.0-or-later
"""One run for the commands, the live updates and the console: settings in, parts in the scene out."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.errors import ReliefsmithError

from . import bridge, live, properties, session


def steps(scene: bpy.types.Scene) -> Any:
    """Return the run of a scene's picture and settings as small steps; the value is the relief.

    Raises
    ------
    ReliefsmithError
        In one plain line, if the picture or the settings cannot be used.
    """
    state = scene.reliefsmith
    return session.job(state.picture).relief_steps(properties.to_recipe(state))


def show(scene: bpy.types.Scene, relief: Any) -> None:
    """Bring the parts of a relief into the scene, and keep what was found."""
    new = bridge.find(scene, bridge.JOB) is None
    if new and not scene.objects and not bridge.in_millimeters(scene):
        bridge.use_millimeters(scene)
    bridge.show(scene, relief.parts)
    _keep(scene.reliefsmith, relief)


def _keep(state: Any, relief: Any) -> None:
    """Put findings, parts and estimate where the panels read them."""
    state.trouble = ""
    state.findings.clear()
    for found in relief.findings:
        item = state.findings.add()
        item.code, item.severity, item.message = found.code, str(found.severity), found.message
        item.has_place = found.at_mm is not None
        item.place = found.at_mm or (0, 0, 0)
    estimate = relief.inspection.estimate
    state.parts.clear()
    for part in relief.parts:
        row = state.parts.add()
        row.name, row.role = part.name, part.role
        row.color = [value / 255 for value in part.color]
        row.mass_g = estimate.mass_g[part.name]
    changes = f"{estimate.changes} color change{'s' if estimate.changes != 1 else ''}"
    state.estimate = f"{estimate.mass_g_total:.1f} g, about {estimate.time_min:.0f} min, {changes}"


def _live_steps(scene: bpy.types.Scene) -> Any:
    """Like `steps`, but the value is None where the settings cannot be used; the panel says why."""
    try:
        return (yield from steps(scene))
    except ReliefsmithError as error:
        scene.reliefsmith.trouble = str(error)
        return None


def _live_end(name: str, relief: Any) -> None:
    scene = bpy.data.scenes.get(name)
    if scene is not None and relief is not None:
        show(scene, relief)


pending = live.Pending(_live_steps, _live_end)
