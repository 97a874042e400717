"""Small patches of lossy pictures: what the colors round them cannot explain was drawn."""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt

from ..colorimetry import luma_axes
from ..colorimetry.explain import dot, mixed
from ..model.arrays import Labels
from ..polygons.runs import find_pieces
from .mixing import Mixing, widened
from .modes import Floats, Ints

__all__ = ["with_strokes"]

Waves = npt.NDArray[np.float32]

_LEAST_OPEN = 40.0  # levels on `luma_axes` that the colors round leave open: JPEG rings less
_LEAST_PX = 6  # such pixels of a patch: no fewer than in a clean picture
_BESIDE_PX = 2  # so far from a pixel are colors that may mix in it
_AROUND_PX = 4  # so far those that may ring there
_OVERSHOOT = 0.25  # of the difference of two colors, by which their edge rings


def with_strokes(
    drawn: Labels, cleaned: Labels, mixing: Mixing, known: Floats, enlarged: float = 1.0
) -> Labels:
    """Put back what cleaning took and nothing round it explains: dots, thin letters, their counters.

    Parameters
    ----------
    drawn, cleaned : uint8 arrays of shape (h, w)
        Labels before and after patches without calm pixels went to their neighbors.
    mixing : Mixing
        Of an opaque picture.
    known : float64 array of shape (k, 3)
        Color of each label.
    enlarged : float
        Working pixels per source pixel, in length.

    Returns
    -------
    uint8 array of shape (h, w)
    """
    taken = drawn != cleaned
    at = np.flatnonzero(taken)
    if len(at) == 0:
        return cleaned
    pieces = find_pieces(np.where(taken, drawn, np.uint8(255)), diagonal=True)
    open_ = np.zeros(drawn.shape, dtype=bool)
    open_.ravel()[at] = _left_open(at, cleaned, mixing, known) > _LEAST_OPEN
    back = (pieces.labels != 255) & (pieces.sums(open_) >= _LEAST_PX * enlarged**2)
    if not back.any():
        return cleaned
    result = cleaned.copy()
    pixels = pieces.pixels(back)
    result.ravel()[pixels] = drawn.ravel()[pixels]
    return result


def _left_open(at: Ints, cleaned: Labels, mixing: Mixing, known: Floats) -> Waves:
    """Return how far each pixel is from what one or two of the colors round it mix.

    Of a color farther off a pixel holds no more than of its own new one, or a letter's ground would explain
    the counter within it.
    """
    values = np.stack(luma_axes(*(plane.ravel()[at].astype(np.float32) for plane in mixing.planes[:3])))
    colors = np.stack(luma_axes(*known[:, :3].T.astype(np.float32)))
    bits = (1 << np.arange(len(known))).astype(np.uint16)
    own = bits[cleaned]
    beside, round_ = (widened(own, reach).ravel()[at] for reach in (_BESIDE_PX, _AROUND_PX))
    own = own.ravel()[at]
    best = np.full(len(at), np.inf, dtype=np.float32)
    for one, other in product(range(len(known)), repeat=2):
        pair = bits[one] | bits[other]
        near = (beside & pair) == pair
        here = np.flatnonzero(near | (((round_ & pair) == pair) & (own == bits[one])))
        over = np.where(near[here], np.float32(_OVERSHOOT), np.float32(-0.5))
        start, end = (colors[:, number][:, None] for number in (one, other))
        _, rest = mixed(values[:, here], start, end, under=_OVERSHOOT, over=over)
        best[here] = np.minimum(best[here], np.sqrt(dot(rest, rest)))
    return best
