"""Hand relief read back from sculpted solids: how much higher or lower their tops are than as generated."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..errors import GeometryError
from ..mesh.raster import Nodes, Painted, painted
from ..model import HandRelief, Part
from ..progress import Progress, Steps, drained

__all__ = ["Reading", "Unheld", "read_relief", "read_relief_steps"]

USUAL_STEP_MM = 0.1
"""Distance of the values that are read: rms 0.003 mm on bumps of 2 to 3 mm, 0.25 MB a piece."""

SAME_MM = 0.002
"""Heights nearer than this are as generated."""

UNDERCUT_MM = 0.02
"""A hollow below a top counts from this height on: a tenth of a usual layer."""

PLACES = 5
"""Places that are named of each kind."""

_BLOCK = 20  # nodes across a block of which one place is named

Heights = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Unheld:
    """Work that heights by place cannot hold.

    Parameters
    ----------
    kind : str
        "undercut", "beside" (a moved wall or a new island, outside the part), or "gone" (a part's wall moved
        in, or a hole through it).
    at_mm : (float, float)
    volume_mm3 : float
    """

    kind: str
    at_mm: tuple[float, float]
    volume_mm3: float


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read.

    Parameters
    ----------
    relief : HandRelief
        Holds on all ground of the parts.
    kept : float
        Share of the changed volume that it holds, 0 to 1; 1 where nothing changed.
    unheld : tuple of Unheld
        The rest, the largest places first.
    """

    relief: HandRelief
    kept: float
    unheld: tuple[Unheld, ...]


def read_relief_steps(
    pairs: Sequence[tuple[Part, Part]], width_mm: float, step_mm: float = USUAL_STEP_MM
) -> Steps[Reading]:
    """Read hand relief from sculpted parts.

    Parameters
    ----------
    pairs : sequence of (Part, Part)
        Each part as generated without hand relief, and as it was sculpted, both in the artwork's frame, front
        up. At a place the part counts that is generated highest there.
    width_mm : float
        Of the artwork.
    step_mm : float
        Distance of the values.

    Raises
    ------
    GeometryError
        If there is no part, or one has coordinates that are no numbers.

    Notes
    -----
    Walls that moved by no more than a step, and undercuts lower than 0.02 mm, are not told from rounding.
    """
    if not pairs:
        raise GeometryError("there is no part to read hand relief from")
    nodes = _nodes([item for pair in pairs for item in pair], step_mm)
    shape = (nodes.size[1], nodes.size[0])
    top, values = np.full(shape, -np.inf), np.full(shape, np.nan)
    rest: dict[str, Heights] = {kind: np.zeros(shape) for kind in ("undercut", "beside", "gone")}
    changed = np.zeros(shape)
    for generated, sculpted in pairs:
        yield Progress(f"reading the work on {generated.name}")
        before = painted(generated.vertices, generated.triangles, nodes)
        yield Progress(f"reading the work on {generated.name}")
        after = painted(sculpted.vertices, sculpted.triangles, nodes)
        own = before.highest > top
        both = own & ~np.isnan(after.highest)
        values[own] = 0.0
        values[both] = (after.highest - before.highest)[both]
        top[own] = before.highest[own]
        lost = _unheld(before, after)
        for kind, height in lost.items():
            rest[kind] += height
        for item in (np.where(both, np.abs(after.highest - before.highest), 0.0), *lost.values()):
            changed += item
    values[np.abs(values) < SAME_MM] = 0.0
    total = float(changed[changed >= SAME_MM].sum())
    away = float(sum(height.sum() for height in rest.values()))
    relief = HandRelief(
        values[::-1].astype(np.float32),
        (nodes.low_mm[0] / width_mm, (nodes.low_mm[1] + (shape[0] - 1) * step_mm) / width_mm),
        step_mm / width_mm,
    )
    return Reading(relief, 1.0 - away / total if total > 0 else 1.0, _places(rest, nodes))


read_relief = drained(read_relief_steps)


def _nodes(parts: Sequence[Part], step_mm: float) -> Nodes:
    """Return nodes on multiples of the step that cover all parts, one more all round."""
    corners = np.concatenate([part.vertices[:, :2] for part in parts])
    if not np.isfinite(corners).all():
        raise GeometryError("a sculpted part has coordinates that are no numbers; undo the last stroke")
    low = np.floor(corners.min(axis=0) / step_mm).astype(int) - 1
    high = np.ceil(corners.max(axis=0) / step_mm).astype(int) + 1
    columns, rows = (high - low + 1).tolist()
    return Nodes((float(low[0]) * step_mm, float(low[1]) * step_mm), step_mm, (columns, rows))


def _unheld(before: Painted, after: Painted) -> dict[str, Heights]:
    """Return the height of what a field cannot hold at each node, by kind."""
    was, now = ~np.isnan(before.highest), ~np.isnan(after.highest)
    own = np.nan_to_num(before.highest - before.lowest - before.filled)  # a pocket of the part itself
    hollow = np.nan_to_num(after.highest - after.lowest - after.filled) - own
    inside = _shrunk(was)
    return {
        "undercut": np.where(inside & now & (hollow > UNDERCUT_MM), hollow, 0.0),
        "beside": np.where(now & ~_grown(was), after.filled, 0.0),
        "gone": np.where(inside & ~now, before.filled, 0.0),
    }


def _grown(flags: Flags) -> Flags:
    """Return nodes and their eight neighbors."""
    wide = np.pad(flags, 1)
    rows, columns = flags.shape
    windows = [wide[i : i + rows, k : k + columns] for i in range(3) for k in range(3)]
    return np.asarray(np.any(windows, axis=0))


def _shrunk(flags: Flags) -> Flags:
    return ~_grown(~flags)


def _places(rest: dict[str, Heights], nodes: Nodes) -> tuple[Unheld, ...]:
    """Return the places of each kind, by blocks of 2 mm at a usual step, the largest first."""
    found = []
    for kind, height in rest.items():
        row, column = np.nonzero(height > 0)
        if len(row) == 0:
            continue
        block = (row // _BLOCK) * (height.shape[1] // _BLOCK + 1) + column // _BLOCK
        _, index = np.unique(block, return_inverse=True)
        amount = height[row, column] * nodes.step_mm**2
        sums = np.bincount(index, amount)
        for number in np.argsort(-sums, kind="stable")[:PLACES].tolist():
            own = np.flatnonzero(index == number)
            far = own[int(np.argmax(amount[own]))]
            x, y = (nodes.low_mm[0] + column[far] * nodes.step_mm, nodes.low_mm[1] + row[far] * nodes.step_mm)
            found.append(Unheld(kind, (round(float(x), 2), round(float(y), 2)), float(sums[number])))
    return tuple(sorted(found, key=lambda item: -item.volume_mm3))
