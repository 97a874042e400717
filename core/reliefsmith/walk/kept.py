"""An old job again: the files of a plan that was kept, whatever the stages before it find today."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..errors import StoreError
from ..formats.stems import safe_stem
from ..model import FlatAreas, Plan, Result
from ..progress import Steps, drained
from .inputs import GivenRecipe, as_fonts, as_hand, as_recipe, named_files, recipe_files
from .keys import picture_id
from .painted import painted
from .pipeline import Relief
from .secondpicture import as_second
from .stages import STAGES, after
from .store import decode

__all__ = ["remake", "remake_steps"]

_MOST_BYTES = 256 * 1024 * 1024
_MOST_NUMBER = 1e6
"""No length, color or count of a plan is more: the largest artwork is 2 m wide."""


def remake_steps(plan_file: str | Path, recipe: GivenRecipe) -> Steps[Relief]:
    """Make the relief of a kept plan in small steps: heights, solids and checks anew, the plan as it was.

    A later version may find other boundaries or place the hole elsewhere; a plan that was approved stays.

    Parameters
    ----------
    plan_file : path
        A plan that a run kept (`hung-...npz` in its folder of stages, `lettered-...npz` where the recipe has
        lettering); the set takes this file's name.
    recipe : Recipe, mapping or path
        The recipe of the job, as its set holds it.

    Raises
    ------
    StoreError
        If the file is none or holds no plan.
    ReliefsmithError
        If its heights cannot be made.

    Examples
    --------
    >>> import tempfile
    >>> import numpy as np
    >>> from reliefsmith.walk.pipeline import make
    >>> from reliefsmith.walk.store import FolderStore
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     first = make(picture, store=FolderStore(folder))
    ...     (kept,) = Path(folder).glob("hung-*.npz")
    ...     again = remake(kept, {"heights": {"base_mm": 3.0}})
    >>> again.plan.base.equals(first.plan.base)
    True
    """
    path, settings = Path(plan_file), as_recipe(recipe)
    data = _read(path)
    plan = _plan(path, data)
    if settings.lettering and not plan.texts:
        raise StoreError(
            f"the kept plan {path} is without its lettering; give lettered-...npz of the same folder"
        )
    if settings.back.picture and not plan.inlays:
        raise StoreError(f"the kept plan {path} is without its back; give lettered-...npz of the same folder")
    values: dict[str, Any] = {
        "second": as_second(settings),
        "marked": _areas(plan),
        "hand": as_hand(None, settings),
    }
    values |= {"hung": plan, "lettered": plan, "fonts": as_fonts(settings)}
    values["picture_id"] = picture_id(path, hashlib.sha256(data).hexdigest())
    for stage in STAGES[len(after("lettered")) :]:  # each takes what is here, or spares the picture
        values[stage.name] = yield from stage.run(values, settings)
        if stage.name == "parts":
            values |= painted(values, settings.filaments.parts)
    return Relief(
        Result.of_stages(values, safe_stem(path.stem), settings),
        (path, *recipe_files(recipe), *named_files(settings)),
    )


remake = drained(remake_steps)


def _read(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise StoreError(f"there is no kept plan at {path}; check the name")
        if path.stat().st_size > _MOST_BYTES:
            raise StoreError(f"{path} is too large for a kept plan; give the picture instead")
        return path.read_bytes()
    except OSError as error:
        raise StoreError(f"cannot read the kept plan {path}: {error.strerror or error}") from error


def _plan(path: Path, data: bytes) -> Plan:
    value = decode(data)
    if not isinstance(value, Plan) or value.center_of_mass_mm is None:
        raise StoreError(f"{path} holds no finished plan; give hung-...npz of a folder of kept stages")
    if value.division is not None or not value.tongues.is_empty:
        raise StoreError(f"the plan {path} is cut or has tongues already; give lettered-...npz of its folder")
    if not _sound(value):
        raise StoreError(f"the kept plan {path} is damaged; make the picture again")
    return value


def _sound(plan: Plan) -> bool:
    """Return whether a plan from a file is one that later stages can rely on.

    What `decode` has looked at is not asked again: every field holds what it declares.
    """
    colors = [plan.base_color, *plan.area_colors, *(item.color for item in plan.motifs)]
    colors += [item.color for item in plan.inlays if item.color is not None]
    shapes: list[BaseGeometry] = [plan.base, *(item.polygon for item in plan.motifs)]
    shapes += [pocket.polygon for pocket in (*plan.pockets, *plan.inlays)]
    shapes += [shape for item in plan.texts for shape in (item.letters, item.cut) if not shape.is_empty]
    shapes += [area for area in plan.areas if not area.is_empty]
    lengths = (*plan.artwork_mm, plan.frame.mm_per_px, *(hole.diameter_mm for hole in plan.holes))
    return (
        len(plan.areas) == len(plan.area_colors)
        and all(0 <= channel <= 255 for color in colors for channel in color)
        and all(length > 0 for length in lengths)
        and all(abs(number) <= _MOST_NUMBER for number in _numbers(plan))  # which no NaN is
        and all(_shape_is_sound(shape) for shape in shapes)
    )


def _shape_is_sound(shape: BaseGeometry) -> bool:
    with np.errstate(all="ignore"):  # coordinates that are no numbers, or beyond them
        bounds = np.array(shape.bounds)
        near = bool((np.abs(bounds) <= _MOST_NUMBER).all()) and not shape.has_z
        return near and not shape.is_empty and bool(shapely.is_valid(shape))


def _numbers(value: Any) -> Iterator[float]:
    """Give every number of a value, but for coordinates."""
    if is_dataclass(value):
        for item in fields(value):
            yield from _numbers(getattr(value, item.name))
    elif isinstance(value, tuple):
        for item in value:
            yield from _numbers(item)
    elif isinstance(value, (int, float)):
        yield value


def _areas(plan: Plan) -> FlatAreas:
    return FlatAreas(
        polygons=plan.areas,
        colors=np.array(plan.area_colors, dtype=np.uint8).reshape(-1, 3),
        frame=plan.frame,
        size_mm=plan.artwork_mm,
    )
