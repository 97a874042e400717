# SPDX-License-Identifier: GPL-3.0-or-later
"""Long commands in slices: the window stays alive, the header says how far they are, Esc gives them up."""

from __future__ import annotations

import time
from typing import Any

import bpy

from reliefsmith.progress import drain

from . import live, pieces
from .commands import told
from .saying import words

_TICK_S = 0.01


class Sliced:
    """A command that takes steps: from a click slice by slice, from the console in one go.

    It gives the steps in `begin`, where datablocks may be looked up; in `end` it takes what they came to.
    Between them only names are kept. Nothing is changed before the end, so Esc leaves all as it was.
    """

    def begin(self, context: Any) -> Any:
        """Return the steps."""
        raise NotImplementedError

    def end(self, context: Any, value: Any) -> set[str]:
        """Show what the steps came to."""
        raise NotImplementedError

    @told
    def execute(self, context: bpy.types.Context) -> set[str]:
        return self.end(context, drain(self.begin(context)))

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        if bpy.app.background or context.window is None:
            return self.execute(context)
        return self.start(context)

    def start(self, context: Any) -> set[str]:
        """Begin in slices."""
        try:
            pieces.refuse_foreign(bpy.context.scene)
            self._running = self.begin(context)
        except Exception as error:  # noqa: BLE001 - as in `told`
            self.report({"ERROR"}, words(error))
            return {"CANCELLED"}
        self._timer = context.window_manager.event_timer_add(_TICK_S, window=context.window)
        context.window_manager.progress_begin(0, 1)
        context.window_manager.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if event.type == "ESC":
            self.cancel(context)
            return {"CANCELLED"}
        if event.type != "TIMER":
            return {"RUNNING_MODAL"}
        try:
            self._advance(context)
        except StopIteration as stop:
            self._leave(context)
            return self._end_told(context, stop.value)
        except Exception as error:  # noqa: BLE001 - a fault of ours must not leave the timer running
            self._leave(context)
            self.report({"ERROR"}, words(error))
            return {"CANCELLED"}
        return {"RUNNING_MODAL"}

    def cancel(self, context: bpy.types.Context) -> None:
        """Stop the run; Blender calls it too, when the window closes."""
        self._running.close()
        self._leave(context)

    def _advance(self, context: bpy.types.Context) -> None:
        """Take steps until the slice of time is used up."""
        begin = time.perf_counter()
        while time.perf_counter() - begin < live.SLICE_S:
            step = next(self._running)
            context.window_manager.progress_update(step.fraction)
            context.workspace.status_text_set(f"{step.message}  (Esc cancels)")

    def _leave(self, context: bpy.types.Context) -> None:
        context.window_manager.event_timer_remove(self._timer)
        context.window_manager.progress_end()
        context.workspace.status_text_set(None)

    def _end_told(self, context: Any, value: Any) -> set[str]:
        """End with an error as one line."""
        try:
            return self.end(context, value)
        except Exception as error:  # noqa: BLE001 - as in `told`
            self.report({"ERROR"}, words(error))
            return {"CANCELLED"}


class SlicedIntoFolder(Sliced):
    """A command in slices that asks for a folder first; from the console it is given one."""

    directory: bpy.props.StringProperty(subtype="DIR_PATH")
    filter_folder: bpy.props.BoolProperty(default=True, options={"HIDDEN"})
    _is_asked = False

    def execute(self, context: bpy.types.Context) -> set[str]:
        """Begin in slices where the file dialog has answered, else go through in one go."""
        return self.start(context) if self._is_asked else Sliced.execute(self, context)

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        self._is_asked = not bpy.app.background
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}
