"""What is seen where a part lies thin on another one: its color with what shows through."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from ..colorimetry import srgb_to_linear
from ..colorimetry.hiding import Coefficients, Light, coefficients_of, over
from ..model import Slab
from ..model.arrays import Color

__all__ = ["seen_through"]

_LEAST_MM = 1e-6


def seen_through(
    slabs: Sequence[Slab],
    part: str,
    places: npt.NDArray[np.float64],
    measured: Sequence[tuple[Color, Coefficients]] = (),
) -> Light:
    """Return the light (n, 3), linear 0 to 1, that comes back from places on the tops of a part.

    At each place the slabs below it are gone through from the bed up; a part that lies on another one shows
    it as far as its own thickness there lets it. What lies lowest is seen as if it were thick.

    Parameters
    ----------
    slabs : sequence of Slab
        The finished piece.
    part : str
    places : array of shape (n, 3)
        In mm, on tops of the part, cut or sculpted ones too.
    measured : sequence of (color, Coefficients)
        Filaments whose values were measured; the others' are assumed.
    """
    own = next(slab.color for slab in slabs if slab.part == part)
    colors = {slab.part: slab.color for slab in slabs}
    filaments = {name: coefficients_of(color, measured) for name, color in colors.items()}
    names = list(colors)
    light = np.full((len(places), 3), np.nan)
    upper, thick_mm = np.full(len(places), -1), np.zeros(len(places))
    points = shapely.points(places[:, :2])

    def close(chosen: npt.NDArray[np.bool_]) -> None:
        """Turn the run of one part at the chosen places into the light that it gives back."""
        for number, name in enumerate(names):
            here = chosen & (upper == number) & (thick_mm > _LEAST_MM)
            plain = srgb_to_linear(np.asarray(colors[name], np.uint8))
            lies = here & ~np.isnan(light[:, 0])
            light[lies] = over(filaments[name], plain, thick_mm[lies, None], light[lies])
            light[here & ~lies] = plain

    for slab in sorted(slabs, key=lambda slab: slab.bottom_mm):
        number = names.index(slab.part)
        shapely.prepare(slab.polygon)
        here = shapely.intersects(slab.polygon, points) & (slab.bottom_mm < places[:, 2] - _LEAST_MM)
        close(here & (upper != number))
        begins = here & (upper != number)
        thick_mm[begins], upper[begins] = 0.0, number
        thick_mm[here] += np.minimum(places[here, 2], slab.highest_mm) - slab.bottom_mm
    close(np.ones(len(places), bool))
    light[upper != names.index(part)] = srgb_to_linear(np.asarray(own, np.uint8))
    return light
