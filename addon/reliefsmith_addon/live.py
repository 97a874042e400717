# SPDX-License-Identifier: GPL-3.0-or-later
"""Live: a changed setting makes again what depends on it, a moment after the last change, in small slices.

Only names are kept between calls: datablocks may go away with undo or another file.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import bpy

from reliefsmith.errors import RecipeError

DELAY_S = 0.25  # after the last change: a dragged slider makes one run, not fifty
SLICE_S = 0.04  # hands back to the window after this long
_NEXT_S = 0.001
_HELD_S = 0.3  # until it is looked again whether a part is still being edited

Steps = Any


class Pending:
    """What waits to be made: the scene's name, and the run once it has begun.

    `held` says why a scene cannot be written to now, or ""; then the run waits until it can.
    """

    def __init__(
        self,
        held: Callable[[bpy.types.Scene], str],
        begin: Callable[[bpy.types.Scene], Steps],
        end: Callable[[str, Any], None],
        fail: Callable[[str, Exception], None],
    ) -> None:
        self.held, self.begin, self.end, self.fail = held, begin, end, fail
        self.scene = ""
        self.steps: Steps = None
        # Blender knows a timer by this very object; every `self.tick` would be a new one.
        self.timer = self.tick

    def touch(self, group: Any, _context: bpy.types.Context) -> None:
        """Note a change; the `update` of every setting."""
        scene = group.id_data
        if scene.reliefsmith.live and scene.reliefsmith.estimate:
            self.later(scene)

    def later(self, scene: bpy.types.Scene) -> None:
        """Make the scene's relief in a moment, or as soon as it is held no more."""
        self.stop()
        self.scene = scene.name
        bpy.app.timers.register(self.timer, first_interval=DELAY_S)

    def tick(self) -> float | None:
        """Take steps for one slice; the time until the next one, or None at the end."""
        scene = bpy.data.scenes.get(self.scene)
        if scene is None:
            return self._over()
        try:
            words = self.held(scene)
            if words:
                return self._hold(words)
            return self._slice(scene)
        except Exception as error:  # noqa: BLE001 - a timer that raises is lost with a traceback
            self.fail(self.scene, error)
            return self._over()

    def _slice(self, scene: bpy.types.Scene) -> float | None:
        self.steps = self.steps or self.begin(scene)
        until = time.perf_counter() + SLICE_S
        try:
            while time.perf_counter() < until:
                next(self.steps)
        except StopIteration as stop:
            self.end(self.scene, stop.value)
            return self._over()
        return _NEXT_S

    def _hold(self, words: str) -> float:
        """Give up what runs, and begin again later: it would end in parts that are being edited."""
        if self.steps is not None:
            self.steps.close()
            self.steps = None
        self.fail(self.scene, RecipeError(words))
        return _HELD_S

    def flush(self) -> None:
        """Finish at once what waits and is not held: timers do not run in background."""
        if bpy.app.timers.is_registered(self.timer):
            bpy.app.timers.unregister(self.timer)
        while self.scene and self.tick() not in (None, _HELD_S):
            pass

    def stop(self) -> None:
        """Give up what waits or runs."""
        if bpy.app.timers.is_registered(self.timer):
            bpy.app.timers.unregister(self.timer)
        if self.steps is not None:
            self.steps.close()
        self._over()

    def _over(self) -> None:
        self.steps, self.scene = None, ""
