"""The coupon on layers: a dark plate, light features on it in one to many layers, a strip laid face down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from ..colorimetry import parse_hex
from ..colorimetry.words import unique_names
from ..model import ColorChange, Slab, Stack
from ..model.arrays import Color
from ..polygons import as_multi, without
from ..progress import Progress, Steps, drained
from ..recipe.sections import FilamentSettings, HeightSettings, PrinterSettings
from .coupon_features import FINGER_MM, Feature, features, plate
from .layergrid import LayerGrid, grid_of
from .levels import luminance

__all__ = ["DARK", "LIGHT", "Coupon", "Feature", "coupon", "coupon_steps"]

DARK, LIGHT = (32, 32, 36), (244, 244, 240)
"""Where the recipe names fewer than two filaments: a near black and a near white, the hardest case."""

PLATE_MM, RAISED_MM, THICK_MM = 1.2, 0.6, 2.4
"""Height of the plate, of raised features on it, and of the patch that nothing shows through."""


@dataclass(frozen=True, slots=True)
class Coupon:
    """The test piece.

    Parameters
    ----------
    stack : Stack
        Parts "base", the light one, and the strip on the bed in the same light color.
    features : tuple of Feature
        In the order in which they are read.
    dark, light : (int, int, int)
        sRGB.
    """

    stack: Stack
    features: tuple[Feature, ...]
    dark: Color
    light: Color


def coupon_steps(
    *, heights: HeightSettings, printer: PrinterSettings, filaments: FilamentSettings
) -> Steps[Coupon]:
    """Lay out the test piece for this printer: its layers, its nozzle, the darkest and lightest filament.

    Parameters
    ----------
    heights : HeightSettings
        Layer and first layer; the other heights are the coupon's own.
    printer : PrinterSettings
    filaments : FilamentSettings
        The darkest and the lightest in stock are used; a near black and a near white where there are not two.

    Raises
    ------
    GeometryError
        If a layer is higher than the nozzle can lay.
    """
    yield Progress("laying out the test piece", 0.0)
    dark, light = _two_colors(filaments)
    grid, found = grid_of(heights, printer.nozzle_mm), features()
    below = max(grid.nearest(PLATE_MM), 2)
    raised = _raised(found, grid)
    top = below + max(count for count, _ in raised)
    names = unique_names([light, light])
    slabs = (
        *_plate(found, dark, grid, below),
        *_levels(raised, light, names[0], grid, below),
        Slab(names[1], "motif", light, _shapes(found, "face"), 0.0, grid.top_mm(1)),
    )
    changes = (ColorChange(1, 0.0, dark), ColorChange(below + 1, grid.top_mm(below), light))
    layers = tuple(grid.top_mm(layer) for layer in range(1, top + 1))
    return Coupon(Stack(slabs, layers, changes, by_height=False), found, dark, light)


coupon = drained(coupon_steps)


def _two_colors(filaments: FilamentSettings) -> tuple[Color, Color]:
    colors = sorted(
        (parse_hex(spool.color) for spool in filaments.stock), key=lambda one: (luminance(one), one)
    )
    if len(colors) < 2 or luminance(colors[0]) == luminance(colors[-1]):
        return DARK, LIGHT
    return colors[0], colors[-1]


def _shapes(found: Sequence[Feature], *kinds: str) -> shapely.MultiPolygon:
    return as_multi([item.shape for item in found if item.kind in kinds])


def _plate(found: Sequence[Feature], dark: Color, grid: LayerGrid, below: int) -> list[Slab]:
    """Return the plate: the light strip lies in its first layer, holes go through."""
    whole = without(plate(), _shapes(found, "hole"))
    first = without(whole, _shapes(found, "face"))
    return [
        Slab("base", "base", dark, first, 0.0, grid.top_mm(1)),
        Slab("base", "base", dark, whole, grid.top_mm(1), grid.top_mm(below)),
    ]


def _raised(found: Sequence[Feature], grid: LayerGrid) -> list[tuple[int, shapely.Polygon]]:
    """Return what stands on the plate, with its number of layers."""
    usual, thick = max(grid.count(RAISED_MM), 1), max(grid.count(THICK_MM), 1)
    layers = {"stroke": usual, "dot": usual, "thick": thick}
    raised = [(layers[item.kind], item.shape) for item in found if item.kind in layers]
    raised += [(int(item.size), item.shape) for item in found if item.kind == "step"]
    gaps = [item.shape for item in found if item.kind == "gap"]
    left, low, _, high = gaps[0].bounds
    whole = shapely.box(left - FINGER_MM, low, gaps[-1].bounds[2] + FINGER_MM, high)
    return [*raised, *((usual, finger) for finger in without(whole, as_multi(gaps)).geoms)]


def _levels(
    raised: Sequence[tuple[int, shapely.Polygon]], light: Color, name: str, grid: LayerGrid, below: int
) -> list[Slab]:
    """Return one slab for each run of layers in which the same features stand."""
    slabs, bottom = [], 0
    for count in sorted({count for count, _ in raised}):
        shape = as_multi([item for layers, item in raised if layers >= count])
        slabs.append(
            Slab(name, "motif", light, shape, grid.top_mm(below + bottom), grid.top_mm(below + count))
        )
        bottom = count
    return slabs
