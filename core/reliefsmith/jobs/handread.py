"""Hand relief read back from sculpted solids: how much higher or lower their tops are than as made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry.window import widened
from ..errors import GeometryError
from ..mesh.raster import Nodes, Painted, painted
from ..model import HandRelief, Part
from ..progress import Progress, Steps, drained

__all__ = ["Reading", "Unheld", "read_relief", "read_relief_steps"]

USUAL_STEP_MM = 0.1
"""Distance of the values that are read: rms 0.003 mm on bumps of 2 to 3 mm, 0.25 MB a piece."""

SAME_MM = 0.002
"""Heights nearer than this are as made."""

UNDERCUT_MM = 0.02
"""A hollow below a top counts from this height on: a tenth of a usual layer."""

PLACES = 5
"""Places that are named of each kind."""

_ROUNDING = 1e-6
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
        Holds on all ground of the parts, and where the one before it did.
    kept : float
        Share of the changed volume that it holds, 0 to 1; 1 where nothing changed.
    unheld : tuple of Unheld
        The rest, the largest places first.
    kept_of : mapping of float
        The share of each part that was sculpted, by its name.
    """

    relief: HandRelief
    kept: float
    unheld: tuple[Unheld, ...]
    kept_of: Mapping[str, float]


def read_relief_steps(
    pairs: Sequence[tuple[Part, Part]],
    width_mm: float,
    step_mm: float = USUAL_STEP_MM,
    earlier: HandRelief | None = None,
    plain: Sequence[Part] = (),
) -> Steps[Reading]:
    """Read hand relief from sculpted parts.

    Parameters
    ----------
    pairs : sequence of (Part, Part)
        Each part as it was made, with the `earlier` relief, and as it was sculpted, both in the artwork's
        frame, front up. At a place the part counts that is highest there as made.
    width_mm : float
        Of the artwork.
    step_mm : float
        Distance of the values; those of the earlier relief stay where they are as long as they lie at most
        this far and at least half as far apart.
    earlier : HandRelief, optional
        What was there before: the work is added to it. Where nobody worked, it stays as it is, also where
        no part lies now.
    plain : sequence of Part
        The parts without any relief. They tell where the earlier one was held back, because it was too deep;
        there the work begins at what was seen.

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
    nodes = _nodes([item for pair in pairs for item in pair], width_mm, step_mm, earlier)
    shape = (nodes.size[1], nodes.size[0])
    top, values = np.full(shape, -np.inf), np.full(shape, np.nan)
    rest: dict[str, Heights] = {kind: np.zeros(shape) for kind in ("undercut", "beside", "gone")}
    changed, seen = np.zeros(shape), np.full(shape, np.nan)
    kept: dict[str, float] = {}
    bare = {part.name: part for part in plain}
    for made, sculpted in pairs:
        yield Progress(f"reading the work on {made.name}")
        before = painted(made.vertices, made.triangles, nodes)
        own = before.highest > top
        values[own], top[own] = 0.0, before.highest[own]
        if sculpted is made:
            continue
        yield Progress(f"reading the work on {made.name}")
        after = painted(sculpted.vertices, sculpted.triangles, nodes)
        both = own & ~np.isnan(after.highest)
        values[both] = (after.highest - before.highest)[both]
        if made.name in bare:
            yield Progress(f"reading the work on {made.name}")
            ground = painted(bare[made.name].vertices, bare[made.name].triangles, nodes)
            seen[both] = (before.highest - ground.highest)[both]
        lost = _unheld(before, after)
        worked = np.where(both, np.abs(after.highest - before.highest), 0.0) + sum(lost.values())
        kept[made.name] = _kept(worked, lost)
        changed += worked
        for kind, height in lost.items():
            rest[kind] += height
    values[np.abs(values) < SAME_MM] = 0.0
    if earlier is not None:
        yield Progress("adding it to the work of before")
        there = earlier.sampled(_places(nodes), width_mm).reshape(shape)
        held_back = (np.nan_to_num(values) != 0.0) & (np.abs(seen - there) > UNDERCUT_MM)
        there[held_back] = seen[held_back]
        values = np.where(np.isnan(values), there, np.nan_to_num(there) + values)
    relief = HandRelief(
        values[::-1].astype(np.float32),
        (nodes.low_mm[0] / width_mm, (nodes.low_mm[1] + (shape[0] - 1) * nodes.step_mm) / width_mm),
        nodes.step_mm / width_mm,
    )
    return Reading(relief, _kept(changed, rest), _unheld_places(rest, nodes), kept)


read_relief = drained(read_relief_steps)


def _kept(changed: Heights, lost: dict[str, Heights]) -> float:
    """Return which share of all that was changed at each node is not lost."""
    total = float(changed[changed >= SAME_MM].sum())
    return 1.0 - float(sum(height.sum() for height in lost.values())) / total if total > 0 else 1.0


def _nodes(parts: Sequence[Part], width_mm: float, step_mm: float, earlier: HandRelief | None) -> Nodes:
    """Return nodes that cover all parts, one more all round, and all that the earlier relief holds.

    They lie on its values, if those are near enough to each other, else on multiples of the step.
    """
    corners = np.concatenate([part.vertices[:, :2] for part in parts])
    if not np.isfinite(corners).all():
        raise GeometryError("a sculpted part has coordinates that are no numbers; undo the last stroke")
    origin = np.zeros(2)
    if earlier is not None:
        own_mm, first = earlier.step * width_mm, np.array(earlier.origin) * width_mm
        if step_mm / 2 <= own_mm <= step_mm * (1 + _ROUNDING):
            origin, step_mm = first, own_mm
        row, column = np.nonzero(~np.isnan(earlier.values))
        corners = np.concatenate([corners, first + own_mm * np.stack([column, -row], axis=1)])
    low = np.floor((corners.min(axis=0) - origin) / step_mm + _ROUNDING).astype(int) - 1
    high = np.ceil((corners.max(axis=0) - origin) / step_mm - _ROUNDING).astype(int) + 1
    columns, rows = (high - low + 1).tolist()
    low_mm = origin + low * step_mm
    return Nodes((float(low_mm[0]), float(low_mm[1])), step_mm, (columns, rows))


def _places(nodes: Nodes) -> Heights:
    """Return the places (n, 2) of all nodes, row by row from below."""
    (x, y), (columns, rows) = nodes.low_mm, nodes.size
    grid = np.meshgrid(x + nodes.step_mm * np.arange(columns), y + nodes.step_mm * np.arange(rows))
    return np.stack(grid, axis=-1).reshape(-1, 2)


def _unheld(before: Painted, after: Painted) -> dict[str, Heights]:
    """Return the height of what a field cannot hold at each node, by kind."""
    was, now = ~np.isnan(before.highest), ~np.isnan(after.highest)
    own = np.nan_to_num(before.highest - before.lowest - before.filled)  # a pocket of the part itself
    hollow = np.nan_to_num(after.highest - after.lowest - after.filled) - own
    inside = ~widened(~was, 1)
    return {
        "undercut": np.where(inside & now & (hollow > UNDERCUT_MM), hollow, 0.0),
        "beside": np.where(now & ~widened(was, 1), after.filled, 0.0),
        "gone": np.where(inside & ~now, before.filled, 0.0),
    }


def _unheld_places(rest: dict[str, Heights], nodes: Nodes) -> tuple[Unheld, ...]:
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
