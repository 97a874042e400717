"""Defects as hands leave them, each in three places of a made piece, and the finding that tells of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np
import shapely
import trimesh

import reliefsmith as rs
from pieces import solid
from reliefsmith.model import Part
from reliefsmith.solid.skin import skin
from reliefsmith.walk.store import MemoryStore

SAMPLES = Path(__file__).parents[1] / "samples"
RECIPE = rs.Recipe().with_values({"heights.style": "raised"})
PLACES = 3
STORE = MemoryStore()

Change = Callable[["Made", int], Sequence[Part]]


class Made:
    """The kite, raised: a base, motifs on it, and places to spoil."""

    def __init__(self) -> None:
        self.relief = rs.make(SAMPLES / "kite.png", RECIPE, store=STORE)
        self.parts = self.relief.parts
        self.base = self.relief.plan.base

    @cached_property
    def on_base(self) -> list[np.ndarray]:
        """Three places well inside the base, far apart, top to bottom."""
        x0, y0, x1, y1 = self.base.bounds
        inner = self.base.buffer(-4)
        heights = [y1 - share * (y1 - y0) for share in (0.3, 0.45, 0.6)]
        slices = [inner.intersection(shapely.box(x0, y - 1, x1, y + 1)) for y in heights]
        return [np.array(piece.representative_point().coords[0]) for piece in slices]

    def beside(self, at: int, by: float) -> tuple[float, float]:
        """A place left of the piece's box, at one of three heights."""
        x0, y0, _, y1 = self.base.bounds
        return x0 - by, y0 + (0.2, 0.5, 0.8)[at] * (y1 - y0)

    def with_part(self, number: int, change: Callable[[np.ndarray], np.ndarray]) -> list[Part]:
        """The parts with the points of one of them changed."""
        found = list(self.parts)
        found[number] = replace(found[number], vertices=change(found[number].vertices.copy()))
        return found

    def with_faces(self, number: int, change: Callable[[np.ndarray], np.ndarray]) -> list[Part]:
        """The parts with the triangles of one of them changed."""
        found = list(self.parts)
        faces = change(found[number].triangles.copy()).astype(np.int32)
        found[number] = replace(found[number], triangles=faces)
        return found

    def with_body(self, number: int, *bodies: trimesh.Trimesh) -> list[Part]:
        """The parts with bodies joined to one of them."""
        found = list(self.parts)
        for body in bodies:
            part = found[number]
            points = np.concatenate([part.vertices, body.vertices])
            faces = np.concatenate([part.triangles, body.faces + len(part.vertices)]).astype(np.int32)
            found[number] = replace(part, vertices=points, triangles=faces)
        return found

    def with_base(self, shape: shapely.Geometry) -> list[Part]:
        """The parts on a base of another outline."""
        mesh = solid(shape, 0.0, RECIPE.heights.base_mm)
        points = np.round(mesh.vertices, 3)
        found = list(self.parts)
        found[0] = replace(found[0], vertices=points, triangles=mesh.faces.astype(np.int32))
        return found


def box(place: Sequence[float], size: Sequence[float]) -> trimesh.Trimesh:
    """A box by its middle and size."""
    x, y, z = (float(value) for value in place)
    w, d, h = (value / 2 for value in size)
    return trimesh.creation.box(bounds=[(x - w, y - d, z - h), (x + w, y + d, z + h)])


def turned(points: np.ndarray, degrees: float, axis: int) -> np.ndarray:
    """Points turned about an axis through the middle of their box."""
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    matrix = trimesh.transformations.rotation_matrix(np.radians(degrees), np.eye(3)[axis], middle)
    return trimesh.transform_points(points, matrix)


def raised(points: np.ndarray, rise: float) -> np.ndarray:
    """Points with the highest of them raised."""
    points[points[:, 2] > points[:, 2].max() - 1e-6, 2] += rise
    return points


def extra(name: str, mesh: trimesh.Trimesh) -> Part:
    """A part of its own."""
    return Part(name, "motif", (9, 9, 9), np.asarray(mesh.vertices), mesh.faces.astype(np.int32))


def carved_through(made: Made, at: int) -> list[Part]:
    """A dense top pushed through the underside, as a brush with too much strength does."""
    dense = {part.name: part for part in skin(made.relief.stack, 0.3)}
    number = 1 + at
    part = dense[made.parts[number].name]
    points = part.vertices.copy()
    middle = points[points[:, 2].argsort(kind="stable")[len(points) // 2 :]].mean(axis=0)
    top = points[:, 2] > points[:, 2].max() - 1e-6
    nearest = np.linalg.norm(points[:, :2] - middle[:2], axis=1) + 1e3 * ~top
    center = points[nearest.argmin(), :2]
    pushed = top & (np.linalg.norm(points[:, :2] - center, axis=1) < 1.5)
    points[pushed, 2] -= 1.6
    found = list(made.parts)
    found[number] = replace(part, vertices=points)
    return found


def slot(made: Made, at: int) -> list[Part]:
    """A cut of 0.25 mm and 6 mm through the base."""
    x, y = made.on_base[at]
    return made.with_base(made.base.difference(shapely.box(x - 3, y, x + 3, y + 0.25)))


def necked(made: Made, at: int) -> list[Part]:
    """The wall round the hanging hole cut to 1 mm on one side."""
    hole = made.relief.plan.hole
    x, y = hole.center_mm
    inner = hole.diameter_mm / 2 + 1.0
    sides = (
        shapely.box(x - 30, y - 8, x - inner, y + 8),
        shapely.box(x + inner, y - 8, x + 30, y + 8),
        shapely.box(x - 30, y + inner, x + 30, y + 30),
    )
    cut = made.base.difference(sides[at])
    return made.with_base(max(shapely.get_parts(cut), key=lambda piece: piece.area))


def parted(made: Made, at: int) -> list[Part]:
    """The base alone, cut in two by a gap of 1 mm."""
    x0, _, x1, _ = made.base.bounds
    y = made.on_base[at][1]
    return made.with_base(made.base.difference(shapely.box(x0 - 1, y, x1 + 1, y + 1)))[:1]


def plugged(made: Made, at: int) -> list[Part]:
    """The hanging hole closed, at one of three heights, wholly or by a skin."""
    (x, y), wide = made.relief.plan.hole.center_mm, made.relief.plan.hole.diameter_mm / 2 + 0.5
    plug = shapely.Point(x, y).buffer(wide, quad_segs=16)
    low, high = ((0.0, 2.0), (0.0, 0.6), (1.0, 2.0))[at]
    return [*made.parts, extra("plug", solid(plug, low, high))]


@dataclass(frozen=True)
class Defect:
    """What was done, and the codes of which one at least tells it."""

    do: Change
    told: frozenset[str]


def _defect(do: Change, *told: str) -> Defect:
    return Defect(do, frozenset(told))


def _moved(*way: float) -> Change:
    return lambda made, at: made.with_part(at + 1, lambda points: points + np.array(way))


def _on(made: Made, at: int, z: float) -> tuple[float, float, float]:
    x, y = made.on_base[at]
    return float(x), float(y), z


def _shelf(made: Made, at: int) -> list[Part]:
    """A plate of 14 mm on a post of 2 mm."""
    post, plate = box(_on(made, at, 3.5), (2, 2, 3)), box(_on(made, at, 5.5), (14, 14, 1))
    return [*made.parts, extra("shelf", trimesh.util.concatenate([post, plate]))]


DEFECTS: dict[str, Defect] = {
    "moved by 0.03 mm": _defect(_moved(0.03, 0, 0), "part-moved"),
    "moved by 0.3 mm into a neighbor": _defect(_moved(0, 0.3, 0), "part-moved"),
    "lifted by 0.1 mm": _defect(_moved(0, 0, 0.1), "part-moved"),
    "sunk by 0.5 mm": _defect(_moved(0, 0, -0.5), "part-moved"),
    "carried away": _defect(_moved(90, 0, 0), "part-moved"),
    "scaled by 2": _defect(lambda m, at: m.with_part(at + 1, lambda p: 2 * p), "part-scaled"),
    "all scaled": _defect(
        lambda m, at: [replace(p, vertices=p.vertices * (2, 1.02, 0.5)[at]) for p in m.parts], "part-scaled"
    ),
    "wider by 1 %": _defect(lambda m, at: m.with_part(at, lambda p: p * (1.01, 1, 1)), "part-scaled"),
    "flatter": _defect(lambda m, at: m.with_part(at, lambda p: p * (1, 1, 0.8)), "part-taller"),
    "tilted": _defect(lambda m, at: m.with_part(at, lambda p: turned(p, 0.4, at % 2)), "part-tilted"),
    "turned": _defect(lambda m, at: m.with_part(at, lambda p: turned(p, 2.0, 2)), "part-reshaped"),
    "top off the layers": _defect(lambda m, at: m.with_part(at + 1, lambda p: raised(p, 0.07)), "off-layers"),
    "12 mm tall": _defect(lambda m, at: m.with_part(at + 1, lambda p: raised(p, 12.0)), "part-taller"),
    "missing": _defect(lambda m, at: [p for i, p in enumerate(m.parts) if i != at], "part-missing"),
    "triangles lost": _defect(lambda m, at: m.with_faces(at, lambda f: f[5:]), "not-watertight"),
    "triangle turned": _defect(
        lambda m, at: m.with_faces(at, lambda f: np.concatenate([f[:9, ::-1], f[9:]])), "not-watertight"
    ),
    "triangle doubled": _defect(
        lambda m, at: m.with_faces(at, lambda f: np.concatenate([f, f[:1]])), "not-watertight"
    ),
    "inside out": _defect(lambda m, at: m.with_faces(at, lambda f: f[:, ::-1]), "not-watertight"),
    "sheet on an edge": _defect(
        lambda m, at: m.with_faces(at, lambda f: np.concatenate([f, [[f[0, 0], f[0, 1], f[40, 2]]]])),
        "not-watertight",
    ),
    "bodies cross": _defect(
        lambda m, at: m.with_body(0, box(_on(m, at, 1.5), (3, 3, 2)), box(_on(m, at, 1.2), (2, 5, 1))),
        "solids-cross",
    ),
    "body in the base": _defect(lambda m, at: m.with_body(0, box(_on(m, at, 1), (2, 2, 1))), "solids-cross"),
    "body doubled": _defect(
        lambda m, at: m.with_body(
            at, trimesh.Trimesh(m.parts[at].vertices, m.parts[at].triangles, process=False)
        ),
        "solids-cross",
    ),
    "carved through": _defect(carved_through, "solids-cross"),
    "object doubled": _defect(
        lambda m, at: [*m.parts, replace(m.parts[at], name="copy", role="motif")], "parts-overlap"
    ),
    "strange object": _defect(
        lambda m, at: [*m.parts, extra("cube", box(_on(m, at, 4), (2, 2, 2)))], "solid-added"
    ),
    "island in the air": _defect(
        lambda m, at: m.with_body(at, box(_on(m, at, 6), (2, 2, 1))), "island-in-air"
    ),
    "island beside the piece": _defect(
        lambda m, at: m.with_body(0, box((*m.beside(at, 8.0), 1), (5, 5, 2))), "not-one-piece"
    ),
    "crumb on the bed": _defect(
        lambda m, at: m.with_body(0, box((*m.beside(at, 5.0), 1), (1, 1, 2))), "first-layer-island"
    ),
    "shelf in the air": _defect(_shelf, "overhang", "long-bridge"),
    "motif over the edge": _defect(
        lambda m, at: [*m.parts, extra("flag", box((*m.beside(at, 0.0), 2.3), (40, 3, 0.6)))],
        "motif-over-edge",
    ),
    "slot of 0.25 mm": _defect(slot, "slot-narrow"),
    "wall of 0.6 mm": _defect(
        lambda m, at: [*m.parts, extra("wall", box(_on(m, at, 4.5), (8, 0.6, 5)))], "wall-thin"
    ),
    "fin of 0.3 mm": _defect(
        lambda m, at: [*m.parts, extra("fin", box(_on(m, at, 3.0), (6, 0.3, 2)))], "thin-strokes"
    ),
    "spike": _defect(lambda m, at: m.with_part(at, lambda p: raised_point(p, 5.0)), "part-taller"),
    "wall of the hole cut": _defect(necked, "hole-wall-weak"),
    "base in two": _defect(parted, "not-one-piece"),
    "hole closed": _defect(plugged, "hole-missing"),
}


def raised_point(points: np.ndarray, rise: float) -> np.ndarray:
    """Points with one of the highest raised."""
    points[points[:, 2].argmax(), 2] += rise
    return points


TELLING = frozenset(code for defect in DEFECTS.values() for code in defect.told)
"""Codes that say that something is wrong with a piece; none may stand on one that nobody touched."""
