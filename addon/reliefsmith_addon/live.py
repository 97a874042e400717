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

from . import pieces

DELAY_S = 0.25  # after the last change: a dragged slider makes one run, not fifty
SLICE_S = 0.04  # hands back to the window after this long
_NEXT_S = 0.001
_HELD_S = 0.3  # until it is looked again whether a part is still being edited

Steps = Any


class Pending:
    """What waits to be made: the names of pieces, and the run of the first of them once it has begun.

    `held` says why a piece cannot be written to now, or ""; then the run waits until it can.
    """

    def __init__(
        self,
        held: Callable[[bpy.types.Collection], str],
        begin: Callable[[bpy.types.Collection], Steps],
        end: Callable[[str, Any], None],
        fail: Callable[[str, Exception], None],
    ) -> None:
        self.held, self.begin, self.end, self.fail = held, begin, end, fail
        self.waiting: list[str] = []
        self.steps: Steps = None
        # Blender knows a timer by this very object; every `self.tick` would be a new one.
        self.timer = self.tick

    def touch(self, group: Any, _context: bpy.types.Context) -> None:
        """Note a change; the `update` of every setting."""
        owner = group.id_data
        if isinstance(owner, bpy.types.Collection) and owner.reliefsmith.live and owner.reliefsmith.estimate:
            self.later(owner)

    def later(self, piece: bpy.types.Collection) -> None:
        """Make a piece's relief in a moment, or as soon as it is held no more."""
        others = [name for name in self.waiting if name != piece.name]
        self.stop()
        self.waiting = [*others, piece.name]
        bpy.app.timers.register(self.timer, first_interval=DELAY_S)

    def tick(self) -> float | None:
        """Take steps for one slice; the time until the next one, or None at the end."""
        piece = pieces.named(self.waiting[0]) if self.waiting else None
        if piece is None:
            return self._over()
        try:
            words = self.held(piece)
            if words:
                return self._hold(words)
            return self._slice(piece)
        except Exception as error:  # noqa: BLE001 - a timer that raises is lost with a traceback
            self.fail(self.waiting[0], error)
            return self._over()

    def _slice(self, piece: bpy.types.Collection) -> float | None:
        self.steps = self.steps or self.begin(piece)
        until = time.perf_counter() + SLICE_S
        try:
            while time.perf_counter() < until:
                next(self.steps)
        except StopIteration as stop:
            self.end(self.waiting[0], stop.value)
            return self._over()
        return _NEXT_S

    def _hold(self, words: str) -> float:
        """Give up what runs, and begin again later: it would end in parts that are being edited.

        Another piece that waits comes first then.
        """
        if self.steps is not None:
            self.steps.close()
            self.steps = None
        first, *others = self.waiting
        self.fail(first, RecipeError(words))
        self.waiting = [*others, first]
        return _HELD_S

    def flush(self) -> None:
        """Finish at once what waits and is not held: timers do not run in background."""
        if bpy.app.timers.is_registered(self.timer):
            bpy.app.timers.unregister(self.timer)
        while self.waiting and self.tick() not in (None, _HELD_S):
            pass

    def stop(self) -> None:
        """Give up what waits or runs."""
        if bpy.app.timers.is_registered(self.timer):
            bpy.app.timers.unregister(self.timer)
        if self.steps is not None:
            self.steps.close()
        self.steps, self.waiting = None, []

    def _over(self) -> float | None:
        """Go on with the next piece that waits."""
        self.steps, self.waiting = None, self.waiting[1:]
        return _NEXT_S if self.waiting else None
