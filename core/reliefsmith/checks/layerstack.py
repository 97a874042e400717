"""Layers as printed: which part fills which shape in which layer, from slabs or by cutting solids."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..errors import GeometryError
from ..mesh import crossing, cut, cut_twice, signed_volume
from ..model import Part, Slab, Stack
from ..polygons import as_multi
from ..progress import Progress, Steps, drained
from ..recipe.sections import HeightSettings

__all__ = [
    "Layer",
    "Place",
    "cut_layers_steps",
    "in_printing_order",
    "layer_bottom_mm",
    "layers_of_stack",
    "layers_of_stack_steps",
    "outline_of",
    "outline_steps",
    "seen_layers",
    "turned_over",
]

Place = tuple[float, float, float]

MOST_LAYERS = 2000
"""Flat pieces have tens of layers; more than this is a unit gone wrong or another kind of object."""

_KEPT = 16
"""Unions of layers that are remembered: layers with the same shapes, and the next run at another height."""

_SLACK_MM = 1e-4
"""Heights of a file in single precision are off by this at most."""


@dataclass(frozen=True)
class Layer:
    """A run of equal layers.

    Parameters
    ----------
    first, count : int
        1-based number of the lowest layer, and how many are alike.
    bottom_mm, top_mm : float
        Of the whole run.
    shapes : dict of part name -> MultiPolygon
        Parts that have something here, in their order.
    sloping : frozenset of str
        Parts of whose walls some are not upright here: their layers recede from one to the next.
    folded : dict of part name -> MultiPolygon
        What of a part its own surface holds twice, or the wrong way.
    """

    first: int
    count: int
    bottom_mm: float
    top_mm: float
    shapes: dict[str, shapely.MultiPolygon]
    sloping: frozenset[str] = frozenset()
    folded: dict[str, shapely.MultiPolygon] = field(default_factory=dict)

    @cached_property
    def union(self) -> shapely.MultiPolygon:
        """Everything in this layer."""
        if len(self.shapes) == 1:
            return next(iter(self.shapes.values()))
        return _united(tuple(self.shapes.values()))

    def place_in(self, shape: BaseGeometry) -> Place:
        """Return a place in a shape, on the underside of the run."""
        point = shape.representative_point()
        return (round(point.x, 2), round(point.y, 2), round(self.bottom_mm, 3))


@lru_cache(maxsize=_KEPT)
def _united(shapes: tuple[shapely.MultiPolygon, ...]) -> shapely.MultiPolygon:
    """Return the union of the shapes of a layer; those of a plan share their boundaries and unite quickly."""
    if shapely.coverage_is_valid(list(shapes)):
        return as_multi(shapely.coverage_union_all(list(shapes)))
    return as_multi(shapely.union_all(list(shapes)))


def layers_of_stack_steps(stack: Stack, parts: Sequence[Part] = ()) -> Steps[list[Layer]]:
    """Return the layers of a stack as runs in which nothing changes, from the bed up.

    Parameters
    ----------
    stack : Stack
    parts : sequence of Part
        Its solids, which are cut in the middle of every layer where their tops are shaped; without them such
        tops count as upright.
    """
    tops = [0.0, *stack.layer_tops_mm]
    solids = {part.name: part for part in parts}
    runs: list[Layer] = []
    last: list[int] = []
    for number, (bottom, top) in enumerate(pairwise(tops), start=1):
        middle = (bottom + top) / 2
        inside = [
            index for index, slab in enumerate(stack.slabs) if slab.bottom_mm < middle < slab.highest_mm
        ]
        slabs = [stack.slabs[index] for index in inside]
        sloping = frozenset(slab.part for slab in slabs if slab.upright_mm < middle)
        if runs and inside == last and not sloping:
            low = runs.pop()
            runs.append(Layer(low.first, low.count + 1, low.bottom_mm, top, low.shapes))
        else:
            found: dict[str, shapely.MultiPolygon] = {}
            for slab in slabs:
                yield Progress(f"laying layer {number}", number / len(tops))
                found[slab.part] = _section(slab, solids, middle)
            shapes = {name: shape for name, shape in found.items() if not shape.is_empty}
            runs.append(Layer(number, 1, bottom, top, shapes, sloping))
        last = inside
    return runs


layers_of_stack = drained(layers_of_stack_steps)


def _section(slab: Slab, solids: Mapping[str, Part], z_mm: float) -> shapely.MultiPolygon:
    """Return the shape of a slab at a height."""
    if slab.upright_mm >= z_mm or slab.part not in solids:
        return as_multi(slab.polygon)
    part = solids[slab.part]
    return cut(part.vertices, part.triangles, z_mm)


def seen_layers(stack: Stack, parts: Sequence[Part] = ()) -> list[Layer]:
    """Return the finished piece, front up, as runs in which nothing changes; each counts as one layer.

    Where the piece is printed as it is seen these are its layers.
    """
    if not stack.piece:
        return layers_of_stack(stack, parts)
    slabs = stack.piece
    levels = sorted({slab.bottom_mm for slab in slabs} | {slab.highest_mm for slab in slabs})
    return layers_of_stack(replace(stack, slabs=slabs, layer_tops_mm=tuple(levels[1:])))


def turned_over(layers: Sequence[Layer]) -> list[Layer]:
    """Return layers as they lie with below and above exchanged.

    Examples
    --------
    >>> [layer.top_mm for layer in turned_over([Layer(1, 2, 0.0, 0.5, {}), Layer(3, 1, 0.5, 2.0, {})])]
    [1.5, 2.0]
    """
    high, count = layers[-1].top_mm, layers[-1].first + layers[-1].count
    return [
        Layer(
            count - layer.first - layer.count + 1,
            layer.count,
            round(high - layer.top_mm, 6),
            round(high - layer.bottom_mm, 6),
            layer.shapes,
            layer.sloping,
        )
        for layer in reversed(layers)
    ]


def in_printing_order(layers: Sequence[Layer], jobs: Sequence[Sequence[str]]) -> list[Layer]:
    """Return the layers of several prints, print after print; as they are where all is one print.

    Examples
    --------
    >>> square = shapely.MultiPolygon([shapely.box(0, 0, 1, 1)])
    >>> low = Layer(1, 1, 0.0, 0.2, {"base": square, "red": square})
    >>> both = [low, Layer(2, 4, 0.2, 1.0, {"base": square})]
    >>> [list(layer.shapes) for layer in in_printing_order(both, (("red",), ("base",)))]
    [['red'], ['base'], ['base']]
    """
    if not jobs:
        return list(layers)
    found = []
    for names in jobs:
        for layer in layers:
            own = {name: shape for name, shape in layer.shapes.items() if name in names}
            if own:
                found.append(Layer(layer.first, layer.count, layer.bottom_mm, layer.top_mm, own))
    return found


def cut_layers_steps(parts: Sequence[Part], *, heights: HeightSettings) -> Steps[list[Layer]]:
    """Cut solids in the middle of every layer; layers that cut the same upright walls are one run.

    Heights count from the lowest point of all parts, where the bed is.

    Raises
    ------
    GeometryError
        If there are more layers than any flat piece has.
    """
    floor = min(float(part.vertices[:, 2].min()) for part in parts)
    high = max(float(part.vertices[:, 2].max()) for part in parts) - floor
    count = _layer_count(high, heights)
    if count > MOST_LAYERS:
        raise GeometryError(
            f"the parts are {high:.0f} mm high, {count} layers; check their unit or set heights.layer_mm"
        )
    cutter = []
    for part in parts:
        yield Progress(f"looking at the walls of {part.name}", 0.0)
        cutter.append(_Cutter(part))
    runs: list[Layer] = []
    for number in range(1, count + 1):
        bottom, top = (
            layer_bottom_mm(one, heights.first_layer_mm, heights.layer_mm) for one in (number, number + 1)
        )
        top = min(top, high)
        shapes = {}
        for item in cutter:
            yield Progress(f"cutting layer {number} of {count}", number / count)
            shape = item.at(floor + (bottom + top) / 2)
            if not shape.is_empty:
                shapes[item.name] = shape
        if runs and _same(runs[-1].shapes, shapes):
            low = runs.pop()
            runs.append(replace(low, count=low.count + 1, top_mm=top))
        else:
            sloping = frozenset(item.name for item in cutter if item.slopes)
            folded = {item.name: item.folded for item in cutter if not item.folded.is_empty}
            runs.append(Layer(number, 1, bottom, top, shapes, sloping, folded))
    return runs


def outline_steps(parts: Sequence[Part], *, heights: HeightSettings) -> Steps[shapely.MultiPolygon]:
    """Return what of solids is seen from above."""
    return outline_of((yield from cut_layers_steps(parts, heights=heights)))


def outline_of(layers: Sequence[Layer]) -> shapely.MultiPolygon:
    """Return what of layers is seen from above."""
    return as_multi(shapely.union_all([layer.union for layer in layers]))


def layer_bottom_mm(number: int, first_layer_mm: float, layer_mm: float) -> float:
    """Return the height above the bed at which a layer begins, counted from 1.

    Examples
    --------
    >>> [layer_bottom_mm(number, 0.25, 0.5) for number in (1, 2, 3)]
    [0.0, 0.25, 0.75]
    """
    return 0.0 if number == 1 else first_layer_mm + (number - 2) * layer_mm


def _layer_count(high: float, heights: HeightSettings) -> int:
    """Return how many layers a height takes; a rest of less than half a layer is not printed."""
    above = high - heights.first_layer_mm
    if above <= _SLACK_MM:
        return 1
    return 1 + max(0, math.floor(above / heights.layer_mm + 0.5 - _SLACK_MM))


def _same(one: dict[str, shapely.MultiPolygon], other: dict[str, shapely.MultiPolygon]) -> bool:
    return list(one) == list(other) and all(one[name] is other[name] for name in one)


class _Cutter:
    """Cuts one part at rising heights; between two bends of its walls the same shape is given again."""

    def __init__(self, part: Part) -> None:
        self.name = part.name
        self._part = part
        corners = part.vertices[part.triangles]
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        self._upright = np.abs(normal[:, 2]) <= 1e-9 * np.abs(normal).sum(axis=1)
        self._is_inside_out = signed_volume(part.vertices, part.triangles) < 0
        self._last = np.empty(0, dtype=np.intp)
        self._shape = self.folded = shapely.MultiPolygon()
        self.slopes = False

    def at(self, z_mm: float) -> shapely.MultiPolygon:
        found = crossing(self._part.vertices, self._part.triangles, z_mm)
        upright = bool(self._upright[found].all())
        self.slopes = not upright
        if not (np.array_equal(found, self._last) and upright):
            self._shape, self.folded = cut_twice(
                self._part.vertices, self._part.triangles, z_mm, found, is_inside_out=self._is_inside_out
            )
            self._last = found
        return self._shape
