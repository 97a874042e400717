"""What a bed of several pieces takes: colors in order, which pieces share them, time, plastic."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..mesh import signed_volume
from ..model import Part
from ..model.arrays import Color
from ..recipe.sections import HeightSettings, PrinterSettings
from .changes import hand_loads, schedule
from .estimate import printing_s
from .layerstack import Layer, in_printing_order, layer_bottom_mm

__all__ = ["Bands", "BedWork", "ColorBegins", "bands", "bed_work", "volume_mm3"]


@dataclass(frozen=True, slots=True)
class Bands:
    """Which colors a piece has in which layers: what decides with which others it shares a bed.

    Parameters
    ----------
    first_layer_mm, layer_mm : float
    levels : dict of (int, int) -> frozenset of colors
        By print, of those that follow one another, and 1-based layer.
    """

    first_layer_mm: float
    layer_mm: float
    levels: dict[tuple[int, int], frozenset[Color]]

    def holds(self, other: Bands) -> bool:
        """Return whether another piece on the same bed adds no change: no color that its layer has not.

        Examples
        --------
        >>> navy, red = (0, 0, 90), (200, 0, 0)
        >>> two = Bands(0.2, 0.2, {(0, 1): frozenset({navy}), (0, 2): frozenset({red})})
        >>> one = Bands(0.2, 0.2, {(0, 1): frozenset({navy})})
        >>> two.holds(one), one.holds(two)
        (True, False)
        """
        return (self.first_layer_mm, self.layer_mm) == (other.first_layer_mm, other.layer_mm) and all(
            colors <= self.levels.get(level, frozenset()) for level, colors in other.levels.items()
        )


@dataclass(frozen=True, slots=True)
class ColorBegins:
    """Where a color begins: in which print, of those that follow one another, and in which layer."""

    print: int
    layer: int
    z_mm: float
    color: Color


@dataclass(frozen=True, slots=True)
class BedWork:
    """What a bed takes.

    Parameters
    ----------
    begins : tuple of ColorBegins
        Each layer in which the filament is changed, with the color that begins there; the first is loaded
        before the start.
    changes : int
        Color changes, those within a layer too.
    between : int
        Those between a layer and the next.
    purge_mm3 : float
        Purged at changes within layers.
    time_min : float
        Printing, without warm-up.
    attended_min : float
        Hand work at changes.
    mass_g : float
        Of the pieces and the purge.
    """

    begins: tuple[ColorBegins, ...]
    changes: int
    between: int
    purge_mm3: float
    time_min: float
    attended_min: float
    mass_g: float


def bands(
    layers: Sequence[Layer],
    colors: dict[str, Color],
    heights: HeightSettings,
    prints: Sequence[Sequence[str]] = (),
) -> Bands:
    """Return the colors of a piece by layer.

    Parameters
    ----------
    layers : sequence of Layer
        From the bed up.
    colors : dict of part name -> color
        Of the filament that each part is printed in.
    heights : settings
    prints : sequence of sequences of str
        Parts of each print, where colors are printed one after another.
    """
    levels: dict[tuple[int, int], frozenset[Color]] = {}
    for number, names in enumerate(prints or [list(colors)]):
        for layer in in_printing_order(layers, [names]):
            here = frozenset(colors[name] for name in layer.shapes)
            levels |= {(number, one): here for one in range(layer.first, layer.first + layer.count)}
    return Bands(heights.first_layer_mm, heights.layer_mm, levels)


def volume_mm3(parts: Sequence[Part]) -> float:
    """Return the volume of all parts of a piece."""
    return math.fsum(signed_volume(part.vertices, part.triangles) for part in parts)


def bed_work(pieces: Sequence[tuple[Bands, float]], printer: PrinterSettings) -> BedWork:
    """Work out a bed from the bands and the volume in mm3 of each of its pieces, of one layer height.

    Time is that of `printing_s`, purge included, with the layers of the bed, not of each piece; as for single
    pieces, purge is counted for changes within a layer.
    """
    levels: dict[tuple[int, int], set[Color]] = {}
    for one, _ in pieces:
        for level, colors in one.levels.items():
            levels.setdefault(level, set()).update(colors)
    order = sorted(levels)
    plan = schedule([sorted(levels[level]) for level in order])
    purge = plan.inside * printer.purge_mm3
    total = math.fsum(volume for _, volume in pieces) + purge
    return BedWork(
        begins=tuple(_begins(levels, order, pieces[0][0])),
        changes=plan.changes,
        between=plan.between,
        purge_mm3=purge,
        time_min=printing_s(total, len(order), plan.changes, printer) / 60,
        attended_min=hand_loads(plan.colors, printer.filaments) * printer.change_attended_min,
        mass_g=printer.mass_g(total),
    )


def _begins(
    levels: dict[tuple[int, int], set[Color]], order: Sequence[tuple[int, int]], grid: Bands
) -> list[ColorBegins]:
    """Return where colors begin that the layer below does not have."""
    found: list[ColorBegins] = []
    below: set[Color] = set()
    for number, layer in order:
        bottom = layer_bottom_mm(layer, grid.first_layer_mm, grid.layer_mm)
        found += [
            ColorBegins(number + 1, layer, round(bottom, 6), color)
            for color in sorted(levels[number, layer] - below)
        ]
        below = levels[number, layer]
    return found
