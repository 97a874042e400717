"""What a piece hangs on as solids, to look at: ring, chain, cord, strap, screw, magnet, pin or tape."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..model import Hole, Pocket, Result
from .holders import RINGS, Hardware, bail_mm, hardware_of, path_of

__all__ = ["hung_solids"]

TURN = math.radians(15)
"""A ring in a hole is turned this far from straight through it, so that it is seen from the front."""

BEAD = 1.35
"""From ball to ball of a chain, in balls."""

TAPE_MM = 1.0
"""Thickness of foam tape."""

SHANK_MM, NEEDLE_MM, NEEDLE_Z_MM, GAP_MM = 14.0, 0.5, -2.2, 0.1
"""Length of a screw below its head, radius of a pin's needle and where it lies; between strap and piece."""

Points = npt.NDArray[np.float64]
Solid = tuple[str, Points, npt.NDArray[np.int32]]
"""What it is made of ("metal", "cord" or "web"), vertices (n, 3) in mm, triangles (m, 3)."""


def hung_solids(result: Result) -> list[Solid]:
    """Return what the finished piece hangs on, front up in the artwork's frame; nothing if on nothing."""
    hardware, plan = hardware_of(result), result.plan
    if hardware is None:
        return []
    top = max(slab.highest_mm for slab in result.stack.seen if slab.role == "base")
    rests = [hole.rest_mm for hole in plan.holes]
    if hardware.use == "loop" and len(rests) > 1 and hardware.kind not in RINGS:
        return _wire(hardware, _bail(hardware, rests, top))
    found: list[Solid] = []
    for hole in plan.holes:
        if hardware.use == "slot":
            found += _strap(hardware, hole.rest_mm, top)
        elif hardware.use == "screw":
            found += _screw(hardware, hole.center_mm, top)
        else:
            for path in _loops(hardware, hole, top):
                found += _wire(hardware, path)
    for pocket in plan.pockets:
        found += _fixture(hardware, pocket) if pocket.kind in ("magnet", "pin", "tape") else []
    return found


def _loops(hardware: Hardware, hole: Hole, top: float) -> list[Points]:
    """Return the middle line of a ring or loop through a hole; the turns of a split ring lie side by side."""
    aside, across = math.sin(TURN), math.cos(TURN)
    turns = hardware.turns if hardware.kind == "split-ring" else 1
    # Wire beside the middle of a round hole bears lower: where its outside meets the hole's.
    play = (hole.diameter_mm - hardware.wire_mm / across) / 2
    off = (top / 2 + hardware.wire_mm / 2 * aside) * math.tan(TURN)
    off += (turns - 1) / 2 * hardware.wire_mm * across
    x, y = hole.rest_mm[0], hole.rest_mm[1] - play + math.sqrt(max(play * play - off * off, 0.0))
    flat = np.array(path_of(hardware, (x, y)))[:-1]
    found = []
    for number in range(turns):
        beside, along = (number - (turns - 1) / 2) * hardware.wire_mm, flat[:, 0] - x
        place = (x + along * aside + beside * across, flat[:, 1], top / 2 + along * across - beside * aside)
        found.append(np.column_stack(place))
    return found


def _bail(hardware: Hardware, rests: Sequence[tuple[float, float]], top: float) -> Points:
    """Return the middle line of a cord or chain from one hole to the other, up to a knot."""
    (x0, y0), (x1, y1) = rests[:2]
    knot, low = ((x0 + x1) / 2, max(y0, y1) + bail_mm(hardware, rests)), hardware.wire_mm / 2
    corners = np.array([(x0, y0 - low, top / 2), (*knot, top), (x1, y1 - low, top / 2), (*knot, 0.0)])
    shares = np.linspace(0.0, 1.0, 24, endpoint=False)[:, None]
    pairs = zip(corners, np.roll(corners, -1, axis=0), strict=True)
    return np.concatenate([begin + (end - begin) * shares for begin, end in pairs])


def _wire(hardware: Hardware, path: Points) -> list[Solid]:
    """Return a closed line as round wire or cord, or as balls on a thread."""
    kind = "cord" if hardware.kind == "cord" else "metal"
    if hardware.kind != "ball-chain":
        return [(kind, *_tube(path, hardware.wire_mm / 2))]
    steps = np.linalg.norm(np.diff(path, axis=0, append=path[:1]), axis=1)
    gone = np.cumsum(steps)
    places = np.arange(0.0, gone[-1] - hardware.wire_mm, BEAD * hardware.wire_mm)
    middles = [path[np.searchsorted(gone, place)] for place in places]
    turns = np.linspace(0.0, math.pi, 13)[:, None] * [1.0, 1.0]
    radius = hardware.wire_mm / 2
    profile = np.column_stack([radius * np.sin(turns[:, 0]), -radius * np.cos(turns[:, 0])])
    balls: list[Solid] = [("metal", *_turned(profile, middle)) for middle in middles]
    return [("metal", *_tube(path, 0.12 * hardware.wire_mm)), *balls]


def _strap(hardware: Hardware, rest: tuple[float, float], top: float) -> list[Solid]:
    """Return a strap folded through a slot: half of it lies before the piece, half behind."""
    (x, y), half, thick = rest, hardware.size_mm[0] / 2, hardware.wire_mm / 2
    high = y + hardware.outer_mm
    before = _box((x - half, y - thick, top + GAP_MM), (x + half, high, top + GAP_MM + thick))
    behind = _box((x - half, y - thick, -GAP_MM - thick), (x + half, high, -GAP_MM))
    fold = _box((x - half, y - thick, -GAP_MM), (x + half, y - GAP_MM, top + GAP_MM))
    return [("web", *part) for part in (before, behind, fold)]


def _screw(hardware: Hardware, center: tuple[float, float], top: float) -> list[Solid]:
    """Return a countersunk screw of 90 degrees, its head level with the top of the base."""
    thread, head = (size / 2 for size in hardware.size_mm)
    low = top - (head - thread)
    profile = [(0.0, low - SHANK_MM), (thread, low - SHANK_MM), (thread, low), (head, top), (0.0, top)]
    return [("metal", *_turned(np.array(profile), np.array([*center, 0.0])))]


def _fixture(hardware: Hardware, pocket: Pocket) -> list[Solid]:
    """Return a magnet or tape in its pocket, or the bar of a pin in its one, its needle over the back."""
    x, y, deep = pocket.polygon.centroid.x, pocket.polygon.centroid.y, pocket.depth_mm
    if pocket.kind == "magnet":
        wide, high = hardware.size_mm
        profile = [(0.0, deep - high), (wide / 2, deep - high), (wide / 2, deep), (0.0, deep)]
        return [("metal", *_turned(np.array(profile), np.array([x, y, 0.0])))]
    long, wide, high = hardware.size_mm
    if pocket.kind == "tape":
        low, half = deep - TAPE_MM, (long / 2, wide / 2)
        return [("web", *_box((x - half[0], y - half[1], low), (x + half[0], y + half[1], deep)))]
    low = deep - high
    bar = _box((x - long / 2, y - wide / 2, low), (x + long / 2, y + wide / 2, deep))
    hinge, catch = (
        _box((end - 1.0, y - 1.0, NEEDLE_Z_MM - 0.5), (end + 1.0, y + 1.0, low))
        for end in (x - 0.45 * long, x + 0.45 * long)
    )
    far = 0.47 * long
    needle = [(0.0, -far), (NEEDLE_MM, -far), (NEEDLE_MM, far), (0.0, far)]
    vertices, triangles = _turned(np.array(needle), np.zeros(3))
    lying = (vertices[:, [2, 0, 1]] + [x, y, NEEDLE_Z_MM], triangles)
    return [("metal", *part) for part in (bar, hinge, catch, lying)]


def _tube(path: Points, radius: float, sides: int = 16) -> tuple[Points, npt.NDArray[np.int32]]:
    """Return a tube round a closed line (n, 3)."""
    ahead = np.roll(path, -1, axis=0) - np.roll(path, 1, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    # Of the line's three axes the one that it is nowhere parallel to: of a plane line that across its plane.
    across = np.cross(ahead[:, None], np.linalg.svd(path - path.mean(axis=0))[2])
    out = across[:, np.linalg.norm(across, axis=2).min(axis=0).argmax()]
    out /= np.linalg.norm(out, axis=1)[:, None]
    up = np.cross(ahead, out)
    turns = np.linspace(0.0, 2 * math.pi, sides, endpoint=False)[None, :, None]
    rings = path[:, None] + radius * (np.cos(turns) * out[:, None] + np.sin(turns) * up[:, None])
    return rings.reshape(-1, 3), _skin(len(path), sides, closed=True)


def _turned(profile: Points, middle: Points, sides: int = 48) -> tuple[Points, npt.NDArray[np.int32]]:
    """Return a profile (n, 2) of radius and height, from axis to axis upward, turned about the axis."""
    turns = np.linspace(0.0, 2 * math.pi, sides, endpoint=False)
    round_ = np.column_stack([np.cos(turns), np.sin(turns)])
    inner = profile[1:-1]
    rings = np.concatenate(
        [np.column_stack([radius * round_, np.full(sides, height)]) for radius, height in inner]
    )
    ends = np.array([(0.0, 0.0, profile[0, 1]), (0.0, 0.0, profile[-1, 1])])
    first, at = np.arange(sides), np.roll(np.arange(sides), -1)
    low, last = len(rings), (len(inner) - 1) * sides
    caps = [
        np.column_stack([np.full(sides, low), at, first]),
        np.column_stack([np.full(sides, low + 1), last + first, last + at]),
    ]
    triangles = np.concatenate([_skin(len(inner), sides, closed=False), *caps]).astype(np.int32)
    return np.concatenate([rings, ends]) + middle, triangles


def _skin(rings: int, sides: int, *, closed: bool) -> npt.NDArray[np.int32]:
    """Return the triangles between rings of points that go round alike."""
    ring = np.arange(rings if closed else rings - 1)[:, None] * sides
    after = (ring + sides) % (rings * sides)
    side, beside = np.arange(sides), np.roll(np.arange(sides), -1)
    a, b, c, d = (part.ravel() for part in (ring + side, ring + beside, after + beside, after + side))
    return np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])]).astype(np.int32)


def _box(low: Sequence[float], high: Sequence[float]) -> tuple[Points, npt.NDArray[np.int32]]:
    (x0, y0, z0), (x1, y1, z1) = low, high
    vertices = np.array([(x, y, z) for z in (z0, z1) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])
    caps = np.array([(0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7)], np.int32)
    return vertices, np.concatenate([_skin(2, 4, closed=False), caps])
