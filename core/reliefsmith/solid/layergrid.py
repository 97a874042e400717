"""The layer grid: which height has how many layers."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import GeometryError
from ..recipe.sections import HeightSettings

__all__ = ["SAME_MM", "LayerGrid", "grid_of"]

_STEPS_PER_MM = 1_000_000

SAME_MM = 1e-6
"""Heights closer than this are the same: below the nanometres of the grid."""


@dataclass(frozen=True, slots=True)
class LayerGrid:
    """A first layer of its own height, then equal layers; heights in nanometres, so sums are exact.

    Examples
    --------
    >>> grid = LayerGrid(200_000, 200_000)
    >>> grid.nearest(1.5), grid.top_mm(10)
    (8, 2.0)
    """

    first: int
    layer: int

    def top(self, layers: int) -> int:
        """Return the top of layer number `layers` (1-based); 0 for none."""
        return 0 if layers == 0 else self.first + (layers - 1) * self.layer

    def top_mm(self, layers: int) -> float:
        """Return the top of a layer in mm."""
        return self.top(layers) / _STEPS_PER_MM

    def nearest(self, height_mm: float) -> int:
        """Return the number of layers nearest to a height, at least 1, a tie going up."""
        above = round(height_mm * _STEPS_PER_MM) - self.first
        return 1 + max(0, (2 * above + self.layer) // (2 * self.layer))

    def is_tie(self, height_mm: float) -> bool:
        """Return whether a height lies in the middle between the tops of two layers."""
        above = round(height_mm * _STEPS_PER_MM) - self.first
        return above > 0 and 2 * above % (2 * self.layer) == self.layer

    def count(self, height_mm: float) -> int:
        """Return the number of ordinary layers nearest to a height, a tie going up.

        Examples
        --------
        >>> LayerGrid(300_000, 200_000).count(0.5)
        3
        """
        return (2 * round(height_mm * _STEPS_PER_MM) + self.layer) // (2 * self.layer)

    def covering(self, height_mm: float) -> int:
        """Return the number of layers from the bed that reach a height.

        Examples
        --------
        >>> [LayerGrid(200_000, 200_000).covering(height) for height in (0.0, 0.4, 0.5)]
        [0, 2, 3]
        """
        above = round(height_mm * _STEPS_PER_MM) - self.first
        return 1 + max(0, -(-above // self.layer)) if height_mm > 0 else 0

    def layers_mm(self, count: int) -> float:
        """Return the height of a number of ordinary layers in mm."""
        return count * self.layer / _STEPS_PER_MM


def grid_of(heights: HeightSettings, nozzle_mm: float) -> LayerGrid:
    """Return the layer grid of these settings.

    Raises
    ------
    GeometryError
        If a layer is higher than the nozzle is wide.
    """
    for name, value in (("layer_mm", heights.layer_mm), ("first_layer_mm", heights.first_layer_mm)):
        if value > nozzle_mm:
            raise GeometryError(
                f"heights.{name} {value:g} is more than the nozzle of {nozzle_mm:g} mm can lay;"
                " lower it or set printer.nozzle_mm"
            )
    return LayerGrid(round(heights.first_layer_mm * _STEPS_PER_MM), round(heights.layer_mm * _STEPS_PER_MM))
