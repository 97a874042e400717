"""What layers show: overlap, loose pieces, islands in the air, overhang, islands on the bed."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, Severity, finding
from ..polygons import grow, inscribed, polygons_of
from ..polygons.groups import joined
from ..progress import Progress, Steps
from ..recipe.sections.limits import FIRST_ISLAND_MM, FIRST_ISLAND_MM2
from .bridges import unsupported
from .layerstack import Layer
from .strips import thin_findings_steps

__all__ = ["SHARED_MM2", "layer_findings_steps"]

SHARED_MM2 = 0.01
"""Parts may share this much area in a layer: rounding of files in single precision along their boundaries."""

REMESHED_MM2 = 0.025
"""Neighbors remeshed at 0.12 mm share 0.02 mm2 of a layer; so little is a note."""

_HELD_SHARE = 0.02
"""An island held by less than this share of its area is in the air."""

EDGE_MM = 0.02
"""A motif may reach this far over its edge, or two into each other: neither printer nor eye can tell."""

MOST_OF_A_KIND = 5
"""More findings of one kind are counted, not listed."""

_KEPT = 64
"""Measures of shapes that are remembered: layers share shapes, and a changed height changes none."""

_JOINED_MM2 = 1e-4
"""Pieces of two layers that share less than this do not hold each other."""


def layer_findings_steps(
    layers: Sequence[Layer], *, nozzle_mm: float, motifs: Collection[str], plates: int = 1
) -> Steps[tuple[Finding, ...]]:
    """Judge the layers of a piece from the bed up.

    Parameters
    ----------
    layers : sequence of Layer
        Runs of equal layers; each is judged once.
    nozzle_mm : float
    motifs : collection of str
        Names of the parts that something else carries.
    plates : int
        How many plates lie on the bed that nothing holds together.
    """
    found: list[Finding] = []
    for index, layer in enumerate(layers):
        yield Progress(f"judging layer {layer.first}", index / len(layers))
        found += _overlaps(layer)
        found += _folds(layer)
        if index:
            found += _support(layer, layers[index - 1], nozzle_mm, motifs)
        else:
            found += _first_islands(layer)
    thin = yield from thin_findings_steps(layers, nozzle_mm)
    return (*_once(found), *thin, *(yield from _separate_steps(layers, plates)))


def _overlaps(layer: Layer) -> list[Finding]:
    names = list(layer.shapes)
    shapes = np.array([layer.shapes[name] for name in names], dtype=object)
    if len(shapes) < 2:
        return []
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    found = []
    for a, b in sorted(zip(one.tolist(), other.tolist(), strict=True)):
        if a < b:
            shared = _shared(shapes[a], shapes[b])
            if shared.area > SHARED_MM2:
                words = f"{names[a]} and {names[b]} share {shared.area:.2f} mm2 in layer {layer.first}."
                is_hair = shared.area <= REMESHED_MM2 or shapely.buffer(shared, -EDGE_MM).is_empty
                grave = Severity.NOTE if is_hair else None
                found.append(finding("parts-overlap", words, layer.place_in(shared), grave))
    return found


def _folds(layer: Layer) -> list[Finding]:
    """Find where bodies of one part cross or double each other, or its surface passes through itself."""
    found = []
    for name, shape in layer.folded.items():
        pieces = [piece for piece in polygons_of(shape) if piece.area > SHARED_MM2]
        if pieces:
            largest = max(pieces, key=lambda piece: (piece.area, piece.bounds))
            words = (
                f"{name} holds {shape.area:.2f} mm2 of layer {layer.first} twice: bodies cross or double each"
                " other, or the surface passes through itself; unite them or remesh it."
            )
            found.append(finding("solids-cross", words, layer.place_in(largest)))
    return found


def _support(layer: Layer, below: Layer, nozzle_mm: float, motifs: Collection[str]) -> list[Finding]:
    """Find what has nothing below it, motifs that reach over their edge, and what reaches far beyond."""
    if _holds(below.union, layer.union):
        return []
    rest = shapely.difference(layer.union, below.union)
    if rest.area <= SHARED_MM2:
        return []
    over = shapely.difference(rest, grow(below.union, nozzle_mm))
    air = _in_air(layer, rest, over)
    found = [
        finding(
            "island-in-air",
            f"An island of {piece.area:.2f} mm2 in layer {layer.first} has nothing below it.",
            layer.place_in(piece),
        )
        for piece in air
    ]
    begun = [name for name in layer.shapes if name in motifs and name not in below.shapes]
    found += _over_edge(layer, below, begun, air)
    if over.is_empty:
        return found
    said = shapely.union_all([*air, *(layer.shapes[name] for name in begun)])
    return [*found, *unsupported(shapely.difference(over, said), layer, below, nozzle_mm)]


def _in_air(layer: Layer, rest: BaseGeometry, over: BaseGeometry) -> list[shapely.Polygon]:
    """Return the pieces of a layer that reach over and of which hardly anything but `rest` is left."""
    if over.is_empty:
        return []
    pieces = np.asarray(polygons_of(layer.union), dtype=object)
    bare = np.asarray(polygons_of(rest), dtype=object)
    own, patch = shapely.STRtree(pieces).query(shapely.point_on_surface(bare), predicate="intersects")[::-1]
    unheld = np.bincount(own, weights=shapely.area(bare)[patch], minlength=len(pieces))
    areas = shapely.area(pieces)
    air = pieces[areas - unheld <= _HELD_SHARE * areas]
    return list(air[shapely.intersects(air, over)])


def _over_edge(
    layer: Layer, below: Layer, begun: Sequence[str], air: Sequence[shapely.Polygon]
) -> list[Finding]:
    """Find motifs that start in this layer and reach over their edge; islands are said already."""
    found = []
    for name in begun:
        if _holds(below.union, layer.shapes[name]):
            continue
        rest = shapely.difference(layer.shapes[name], below.union)
        if rest.area <= SHARED_MM2:
            continue
        beyond = shapely.difference(rest, shapely.union_all([grow(below.union, EDGE_MM), *air]))
        if beyond.area > SHARED_MM2:
            words = f"{name} reaches {beyond.area:.2f} mm2 beyond what carries it."
            found.append(finding("motif-over-edge", words, layer.place_in(beyond)))
    return found


def _first_islands(layer: Layer) -> list[Finding]:
    found = []
    for piece in polygons_of(layer.union):
        width = _across(piece)
        if piece.area < FIRST_ISLAND_MM2 or width < FIRST_ISLAND_MM:
            words = f"An island of {piece.area:.1f} mm2, {width:.1f} mm across, on the bed may come loose."
            found.append(finding("first-layer-island", words, layer.place_in(piece)))
    return found


def _separate_steps(layers: Sequence[Layer], plates: int) -> Steps[list[Finding]]:
    """Tell whether all layers hold together, through each other, as one piece."""
    # A crumb at the end of a slope holds nothing, and nothing need hold it.
    pieces = [[piece for piece in polygons_of(layer.union) if piece.area > SHARED_MM2] for layer in layers]
    starts = np.concatenate([[0], np.cumsum([len(item) for item in pieces])])
    one: list[int] = []
    other: list[int] = []
    for level in range(1, len(layers)):
        yield Progress("looking whether all holds together", 0.95)
        for a, b in _holding(tuple(pieces[level - 1]), tuple(pieces[level])):
            one.append(a + int(starts[level]))
            other.append(b + int(starts[level - 1]))
    count, group = joined(int(starts[-1]), np.array(one, dtype=np.int64), np.array(other, dtype=np.int64))
    if count <= plates:
        return []
    flat = [piece for item in pieces for piece in item]
    areas = np.bincount(group, weights=[piece.area for piece in flat])
    loose = [index for index in range(len(flat)) if group[index] != int(np.argmax(areas))]
    level = int(np.searchsorted(starts, loose[0], side="right")) - 1
    words = f"The piece falls into {count} parts that nothing holds together."
    return [finding("not-one-piece", words, layers[level].place_in(flat[loose[0]]))]


def _once(found: Sequence[Finding]) -> list[Finding]:
    """Keep the first finding of a kind at each place seen from above, and a few of each kind.

    The next layers repeat what one layer has; the rest of a kind is counted in the last one kept.
    """
    seen: set[tuple[str, tuple[float, float]]] = set()
    kinds: dict[str, list[Finding]] = {}
    for item in found:
        place = item.at_mm or (0.0, 0.0, 0.0)
        key = (item.code, (round(place[0], 1), round(place[1], 1)))
        if key not in seen:
            seen.add(key)
            kinds.setdefault(item.code, []).append(item)
    return [item for kind in kinds.values() for item in _few(kind)]


def _few(kind: Sequence[Finding]) -> list[Finding]:
    """Return the first findings of one kind; the last of them says how many more there are."""
    if len(kind) <= MOST_OF_A_KIND:
        return list(kind)
    last = kind[MOST_OF_A_KIND - 1]
    more = len(kind) - MOST_OF_A_KIND
    words = f"{last.message} So it is at {more} more place{'s' if more > 1 else ''}."
    return [*kind[: MOST_OF_A_KIND - 1], replace(last, message=words)]


@lru_cache(maxsize=_KEPT)
def _shared(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    return shapely.intersection(one, other)


@lru_cache(maxsize=_KEPT)
def _holds(below: BaseGeometry, above: BaseGeometry) -> bool:
    """Tell whether nothing of a shape reaches beyond another; far quicker than their difference."""
    shapely.prepare(below)
    return bool(shapely.covers(below, above))


@lru_cache(maxsize=_KEPT)
def _across(piece: shapely.Polygon) -> float:
    """Return the diameter of the largest disc in a piece."""
    return 2 * inscribed(piece).radius


@lru_cache(maxsize=_KEPT)
def _holding(
    lower: tuple[shapely.Polygon, ...], upper: tuple[shapely.Polygon, ...]
) -> tuple[tuple[int, int], ...]:
    """Return which pieces of a layer hold to which of the one below, as pairs of their places."""
    if not lower or not upper:
        return ()
    above, under = np.asarray(upper, object), np.asarray(lower, object)
    a, b = shapely.STRtree(under).query(above, predicate="intersects")
    holds = _areas_shared(above[a], under[b]) > _JOINED_MM2
    return tuple(zip(a[holds].tolist(), b[holds].tolist(), strict=True))


def _areas_shared(
    upper: np.ndarray[tuple[int], np.dtype[np.object_]], lower: np.ndarray[tuple[int], np.dtype[np.object_]]
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return the area that the pieces of each pair share; overlays only where none holds the other."""
    shapely.prepare(lower)
    inside = shapely.covers(lower, upper)
    areas = np.where(inside, shapely.area(upper), 0.0)
    areas[~inside] = shapely.area(shapely.intersection(upper[~inside], lower[~inside]))
    return areas
