"""An old job again: the files of a plan that was kept, whatever the stages before it find today."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from .errors import StoreError
from .formats.stems import safe_stem
from .model import FlatAreas, Plan, Result
from .pipeline import Relief
from .progress import Steps, drained
from .recipe import Recipe
from .stages import STAGES, after
from .store import decode

__all__ = ["PLAN_SUFFIX", "remake", "remake_steps"]

PLAN_SUFFIX = ".npz"
"""Of the files that a folder of kept stages holds; the plan of a job is its `hung-...npz`."""

_MOST_BYTES = 256 * 1024 * 1024


def remake_steps(plan_file: str | Path, recipe: Recipe) -> Steps[Relief]:
    """Make the relief of a kept plan in small steps: heights, solids and checks anew, the plan as it was.

    A later version may find other boundaries or place the hole elsewhere; a plan that was approved stays.

    Parameters
    ----------
    plan_file : path
        A plan that a run kept (`hung-...npz` in its folder of stages); the set takes this file's name.
    recipe : Recipe
        The recipe of the job, as its set holds it.

    Raises
    ------
    StoreError
        If the file is none or holds no plan.
    ReliefsmithError
        If its heights cannot be made.
    """
    path = Path(plan_file)
    plan = _plan(path)
    values: dict[str, Any] = {"marked": _areas(plan), "hung": plan}
    done = after("hung")
    for stage in STAGES:
        if stage.name in done:
            continue
        missing = [name for name in stage.takes if name not in values]
        if missing:
            raise StoreError(f"{path} holds the plan only, and this recipe needs the picture too; make that")
        values[stage.name] = yield from stage.run(values, recipe)
    return Relief(
        Result(
            stem=safe_stem(path.stem),
            recipe=recipe,
            areas=values["marked"],
            plan=plan,
            stack=values["stacked"],
            parts=values["parts"],
            inspection=values["inspection"],
            matching=values["matching"],
        )
    )


remake = drained(remake_steps)


def _plan(path: Path) -> Plan:
    try:
        if not path.is_file():
            raise StoreError(f"there is no kept plan at {path}; check the name")
        if path.stat().st_size > _MOST_BYTES:
            raise StoreError(f"{path} is too large for a kept plan; give the picture instead")
        value = decode(path.read_bytes())
    except OSError as error:
        raise StoreError(f"cannot read the kept plan {path}: {error.strerror or error}") from error
    if not isinstance(value, Plan) or value.center_of_mass_mm is None:
        raise StoreError(f"{path} holds no finished plan; give hung-...npz of a folder of kept stages")
    return value


def _areas(plan: Plan) -> FlatAreas:
    return FlatAreas(
        polygons=plan.areas,
        colors=np.array(plan.area_colors, dtype=np.uint8).reshape(-1, 3),
        frame=plan.frame,
        size_mm=plan.artwork_mm,
    )
