"""Runs inside a Blender: measures what the artist waits for; `blender_live.py` starts it and prints a table.

Arguments: the built zip, a small picture to load everything with, the picture, the number of edits of each
kind, the file that the measurements go into, and "wall" or "processor" for the clock.
"""

from __future__ import annotations

import importlib
import json
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ["BLENDER_USER_RESOURCES"] = tempfile.mkdtemp(prefix="reliefsmith-live-")

import bpy  # isort: skip - before what comes with it
import addon_utils  # isort: skip
import numpy as np  # isort: skip

MODULE = "bl_ext.user_default.reliefsmith"
CLOCK = time.process_time if sys.argv[-1] == "processor" else time.perf_counter
SKIN_MM = 0.3
STOPS = 6
"""Fresh runs that are stopped on the way, spread evenly over the time of a whole run."""


def ms(seconds: float) -> float:
    return round(1000 * seconds, 2)


def snapshot(scene: Any) -> list[Any]:
    """What a stopped run must leave as it was."""
    state = scene.reliefsmith
    kinds = (bpy.data.objects, bpy.data.meshes, bpy.data.materials, bpy.data.collections)
    return [
        *(len(kind) for kind in kinds),
        [item.name for item in state.parts],
        [item.message for item in state.findings],
        state.estimate,
        state.trouble,
    ]


class Measured:
    """The add-on on one picture, everything imported and warm."""

    def __init__(self) -> None:
        self.run, self.live, self.session, self.pieces, self.bridge, self.showing = (
            importlib.import_module(f"{MODULE}.{name}")
            for name in ("run", "live", "session", "pieces", "bridge", "showing")
        )
        self.scene = bpy.context.scene

    @property
    def piece(self) -> Any:
        return self.pieces.current(self.scene)

    def fresh(self) -> Any:
        """Return the steps of a run that keeps nothing of an earlier one."""
        self.session.forget()
        return self.run.steps(self.piece)

    def steps(self) -> dict[str, Any]:
        """Time every step of a fresh run, and the upload at its end."""
        steps, took = self.fresh(), []
        while True:
            begin = CLOCK()
            try:
                step = next(steps)
            except StopIteration as stop:
                relief = stop.value
                took.append((ms(CLOCK() - begin), "the end"))
                break
            took.append((ms(CLOCK() - begin), f"{step.stage}: {step.message}"))
        begin = CLOCK()
        self.showing.show(self.piece, relief)
        bpy.context.view_layer.update()
        return {"steps": took, "upload": ms(CLOCK() - begin)}

    def hand(self) -> dict[str, float]:
        """Time what an artist waits for who sculpts: a skin, taking over, and the relief applied to others.

        A skin is made and bumps are raised on it before the times that count, so that all is warm.
        """
        found: dict[str, float] = {}
        for turn in range(2):
            begin = CLOCK()
            bpy.ops.reliefsmith.prepare_sculpting(step_mm=SKIN_MM - 0.01 * turn)
            bpy.context.view_layer.update()
            found["preparing"] = ms(CLOCK() - begin)
            for item in self.bridge.part_objects(self.piece).values():
                places = self.bridge.read(item.data)[0]
                places[:, 2] += _bumps(places) * self._free(item)
                self.bridge.place(item.data, places)
            begin = CLOCK()
            bpy.ops.reliefsmith.take_over()
            bpy.context.view_layer.update()
            found["taking over"] = ms(CLOCK() - begin)
        found["vertices"] = sum(
            len(item.data.vertices) for item in self.bridge.part_objects(self.piece).values()
        )
        return found

    @staticmethod
    def _free(item: Any) -> Any:
        held = np.empty(len(item.data.vertices), np.float32)
        item.data.attributes[".sculpt_mask"].data.foreach_get("value", held)
        return held == 0

    def slices(self) -> list[float]:
        """Time the slices of a fresh run as the window's timer takes them: Esc waits for one at most."""
        steps, took = self.fresh(), []
        while True:
            begin = CLOCK()
            try:
                while CLOCK() - begin < self.live.SLICE_S:
                    next(steps)
            except StopIteration:
                return took
            took.append(ms(CLOCK() - begin))

    def stops(self, whole_s: float) -> dict[str, Any]:
        """Stop fresh runs on the way; what each stop took, and whether the scene is as it was."""
        took, same, before = [], True, snapshot(self.scene)
        for number in range(STOPS):
            steps = self.fresh()
            until = CLOCK() + whole_s * (number + 0.5) / STOPS
            while CLOCK() < until and next(steps, None) is not None:
                pass
            begin = CLOCK()
            steps.close()
            took.append(ms(CLOCK() - begin))
            same = same and snapshot(self.scene) == before
        return {"stops": took, "untouched": same}

    def edits(self, change: Callable[[Any, int], None], count: int) -> dict[str, list[float]]:
        """Time edits from the changed setting to the updated view.

        Beside it: the share of the add-on itself, the longest step, and when findings and estimate are there.
        """
        pending, view, found = self.run.pending, self.showing.view, _Edit()
        begin, end = pending.begin, pending.end
        pending.begin = lambda piece: found.steps(found.timed(begin)(piece))
        pending.end, self.showing.view = found.timed(end), found.seen(view)
        rows: dict[str, list[float]] = {"took": [], "own": [], "longest": [], "all": []}
        for number in range(count):
            found.begin()
            change(self.scene.reliefsmith, number)
            pending.flush()
            bpy.context.view_layer.update()
            rows["all"].append(ms(CLOCK() - found.start))
            assert not self.scene.reliefsmith.trouble, self.scene.reliefsmith.trouble
            for name, seconds in (("took", found.view), ("own", found.own), ("longest", found.longest)):
                rows[name].append(ms(seconds))
        pending.begin, pending.end, self.showing.view = begin, end, view
        return rows


class _Edit:
    """What one edit takes, in seconds."""

    def begin(self) -> None:
        self.start, self.view, self.own, self.longest = CLOCK(), 0.0, 0.0, 0.0

    def timed(self, function: Callable[..., Any]) -> Callable[..., Any]:
        """Count a function to the add-on's own share."""

        def call(*given: Any) -> Any:
            start = CLOCK()
            value = function(*given)
            self.own += CLOCK() - start
            return value

        return call

    def seen(self, function: Callable[..., Any]) -> Callable[..., Any]:
        """Take the time at which a function has brought the parts into the view, and that is updated."""

        def call(*given: Any) -> Any:
            value = function(*given)
            bpy.context.view_layer.update()
            self.view = self.view or CLOCK() - self.start
            return value

        return self.timed(call)

    def steps(self, running: Any) -> Any:
        """Take the time of every step of a run."""
        while True:
            start = CLOCK()
            try:
                step = next(running)
            except StopIteration as stop:
                self.longest = max(self.longest, CLOCK() - start)
                return stop.value
            self.longest = max(self.longest, CLOCK() - start)
            yield step


def _bumps(places: Any) -> Any:
    """Bumps 3 mm wide, 0.3 mm high."""
    return 0.15 + 0.15 * np.sin(places[:, 0] * 2.1) * np.sin(places[:, 1] * 2.1)


def _height(state: Any, number: int) -> None:
    state.heights.base_mm = 1.2 + 0.04 * number


def _border(state: Any, number: int) -> None:
    state.base.border_mm = 0.8 + 0.03 * number


def _hole(state: Any, number: int) -> None:
    state.hang.hole_mm = 4.0 + 0.02 * number


EDITS = {"height": _height, "border": _border, "hole": _hole}


def main() -> None:
    """Measure and print one line of JSON."""
    zip_path, small, picture, count, out = sys.argv[1:6]
    bpy.ops.extensions.package_install_files(
        filepath=zip_path, repo="user_default", enable_on_install=True, overwrite=True
    )
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    bpy.ops.reliefsmith.load_picture(filepath=small)
    bpy.ops.reliefsmith.make()
    bpy.ops.reliefsmith.load_picture(filepath=picture)
    measured = Measured()
    found: dict[str, Any] = {"version": bpy.app.version_string, **measured.steps()}
    found["slices"] = measured.slices()
    found |= measured.stops(sum(took for took, _ in found["steps"]) / 1000)
    bpy.ops.reliefsmith.make()
    found["vertices"] = sum(len(item.data.vertices) for item in bpy.data.objects if item.type == "MESH")
    found["edits"] = {name: measured.edits(change, int(count)) for name, change in EDITS.items()}
    found["hand"] = measured.hand()
    found["edits"]["height, skin"] = measured.edits(_height, int(count))
    importlib.import_module(f"{MODULE}.sculpting").ask(measured.piece, 0.0)
    bpy.ops.reliefsmith.make()
    found["edits"]["height, hand"] = measured.edits(_height, int(count))
    addon_utils.disable(MODULE, default_set=True)
    Path(out).write_text(json.dumps(found), encoding="utf-8")
    sys.stdout.flush()
    os._exit(0)  # the bpy module may hang at exit


if __name__ == "__main__":
    main()
