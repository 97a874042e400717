# SPDX-License-Identifier: GPL-3.0-or-later
"""Stills rendered one after another, each as a job of Blender's own; then the scene's settings are put back.

Only names are kept between calls: datablocks may go away with undo or another file.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import bpy

from reliefsmith.errors import RecipeError

from . import turntable
from .turntable import Pose

ENGINES = (
    ("CYCLES", "Exact", "Follows every ray: clear filaments show what lies behind them"),
    ("EEVEE", "Quick", "Drawn by the graphics card"),
)
_SAMPLES = 32
_LOOK_S = 0.1  # until it is looked again whether a still is done
_RENDER = {
    "resolution_percentage": 100,
    "use_compositing": False,
    "use_sequencer": False,
    "use_border": False,
    "film_transparent": False,
    "use_lock_interface": True,
}
_FILE = {"file_format": "PNG", "color_mode": "RGB", "color_depth": "8", "color_management": "FOLLOW_SCENE"}


def _settings(scene: bpy.types.Scene, size: int, engine: str) -> list[tuple[str, Any]]:
    """Return what a scene is set to for stills, by the paths of its settings.

    Raises
    ------
    RecipeError
        If Blender has no such engine now.
    """
    names = scene.render.bl_rna.properties["engine"].enum_items.keys()  # without those of add-ons
    own = next((name for name in (f"BLENDER_{engine}_NEXT", f"BLENDER_{engine}") if name in names), engine)
    if engine == "CYCLES" and not hasattr(scene, "cycles"):
        raise RecipeError("Cycles is turned off; turn it on in Blender's add-ons, or render in Quick")
    # What pictures and films are told apart by comes before the format; 5.0 and newer have it.
    first = {"media_type": "IMAGE"} if hasattr(scene.render.image_settings, "media_type") else {}
    given = [
        ("render", {"engine": own, "resolution_x": size, "resolution_y": size, **_RENDER}),
        ("render.image_settings", {**first, **_FILE}),
        ("eevee", {"taa_render_samples": _SAMPLES}),
    ]
    if engine == "CYCLES":
        given.append(("cycles", {"samples": _SAMPLES, "film_exposure": 1.0, "use_denoising": False}))
    return [(f"{group}.{key}", value) for group, values in given for key, value in values.items()]


def _set(scene: bpy.types.Scene, settings: Sequence[tuple[str, Any]]) -> None:
    for path, value in settings:
        group, _, key = path.rpartition(".")
        setattr(scene.path_resolve(group), key, value)


@dataclass
class Stills:
    """Stills of a scene, one for each pose: `begin`, `step` until there are no more, in any case `end`."""

    scene: str
    poses: Sequence[Pose]
    paths: Sequence[Path]
    size: int
    engine: str
    done: int = 0
    before: list[tuple[str, Any]] = field(default_factory=list)
    frame: int = 1

    def begin(self) -> None:
        """Set the scene for stills."""
        scene = bpy.data.scenes[self.scene]
        wanted = _settings(scene, self.size, self.engine)
        own = [*(path for path, _ in wanted), "render.filepath"]
        self.before = [(path, scene.path_resolve(path)) for path in own]
        self.frame = scene.frame_current
        _set(scene, wanted)

    def step(self, how: str) -> bool:
        """Begin the next still; with `how` "INVOKE_DEFAULT" Blender's window goes on meanwhile."""
        if self.done == len(self.poses):
            return False
        scene = bpy.data.scenes[self.scene]
        turntable.take(scene, self.poses[self.done])
        scene.render.filepath = str(self.paths[self.done])
        bpy.ops.render.render(how, write_still=True, scene=self.scene)
        self.done += 1
        return True

    def end(self) -> None:
        """Put the scene's own settings back, and the turntable to its turn."""
        scene = bpy.data.scenes.get(self.scene)
        if scene is None or not self.before:
            return
        _set(scene, self.before)
        self.before = []
        turntable.turn(scene)
        scene.frame_set(self.frame)


class Job:
    """Stills while the window goes on: a timer begins one when the last is done, Esc ends them all."""

    def __init__(self, stills: Stills, told: Callable[[str], None]) -> None:
        self.stills, self.told, self.is_cancelled = stills, told, False
        # Blender knows timers and handlers by these very objects.
        self.timer, self.cancelled, self.leave = self.tick, self._cancelled, self._leave

    def begin(self) -> None:
        """Set the scene, and begin in a moment."""
        self.stills.begin()
        bpy.app.handlers.render_cancel.append(self.cancelled)
        bpy.app.handlers.load_pre.append(self.leave)
        bpy.app.timers.register(self.timer, first_interval=_LOOK_S)

    def tick(self) -> float | None:
        """Look once; the time until the next look, or None at the end."""
        stills = self.stills
        if bpy.app.is_job_running("RENDER"):
            return _LOOK_S
        try:
            if not self.is_cancelled and self._next():
                return _LOOK_S
        except Exception as error:  # noqa: BLE001 - a timer that raises is lost with a traceback
            self.told(str(error))
        else:
            word = "Rendering ended by Esc: " if self.is_cancelled else ""
            count = stills.done - self.is_cancelled
            self.told(f"{word}{count} of {len(stills.poses)} pictures written")
        self._leave()
        return None

    def _next(self) -> bool:
        window = bpy.context.window_manager.windows[0]
        number, count = self.stills.done + 1, len(self.stills.poses)
        if number <= count:
            self._status(f"Rendering picture {number} of {count}  (Esc ends)")
        with bpy.context.temp_override(window=window, screen=window.screen):
            return self.stills.step("INVOKE_DEFAULT")

    def _status(self, words: str | None) -> None:
        for window in bpy.context.window_manager.windows:
            window.workspace.status_text_set(words)

    def _cancelled(self, *_: Any) -> None:
        self.is_cancelled = True

    def _leave(self, *_: Any) -> None:
        """Put everything back; also before another file is opened."""
        if bpy.app.timers.is_registered(self.timer):
            bpy.app.timers.unregister(self.timer)
        for handlers, own in (
            (bpy.app.handlers.render_cancel, self.cancelled),
            (bpy.app.handlers.load_pre, self.leave),
        ):
            if own in handlers:
                handlers.remove(own)
        self._status(None)
        self.stills.end()


_running: list[Job] = []


def run(stills: Stills, told: Callable[[str], None]) -> None:
    """Render stills: at once where there is no window, else as a job.

    Raises
    ------
    RecipeError
        If stills are being rendered already.
    """
    if bpy.app.background:
        try:
            stills.begin()
            while stills.step("EXEC_DEFAULT"):
                pass
        finally:
            stills.end()
        told(f"{stills.done} pictures written")
        return
    if bpy.app.is_job_running("RENDER"):
        raise RecipeError("Blender is rendering already; wait for it, or press Esc")
    _running[:] = [Job(stills, told)]
    _running[0].begin()


def stop() -> None:
    """Give up what runs, when the add-on goes."""
    while _running:
        _running.pop()._leave()
