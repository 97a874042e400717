"""What known colors explain of a value: the only place with a line between colors.

Values are given channel by channel, (c, ...), in a space in which edge pixels are weighted means of the
colors they lie between: stored bytes, those times opacity and opacity, or luma and chroma.
"""

from __future__ import annotations

from itertools import permutations
from typing import TypeVar

import numpy as np
import numpy.typing as npt

__all__ = ["dot", "from_triangle", "left_open", "mixed", "tint_left_open"]

Values = TypeVar("Values", npt.NDArray[np.float32], npt.NDArray[np.float64])

_LEAST_SQUARE = 1e-6
"""Levels squared: two colors nearer than that are one, of which every value holds the first part."""

_OVER = 0.25
"""Part of the difference of two colors by which an edge between them overshoots. Of open art saved as JPEG of
quality 50 to 80 chroma does so by a quarter, luma by a tenth, by .28 where it was sharpened before."""


def dot(one: Values, other: Values) -> Values:
    """Return the sum of products (...) over the channels (c, ...), one channel after the other.

    Examples
    --------
    >>> float(dot(np.array([1.0, 2.0]), np.array([3.0, 4.0])))
    11.0
    """
    total: Values = one[0] * other[0]
    for first, second in zip(one[1:], other[1:], strict=True):
        total = total + first * second
    return total


def mixed(
    values: Values, one: Values, other: Values, *, under: float = 0.0, over: float | Values = 0.0
) -> tuple[Values, Values]:
    """Return the part of the second color that explains each value best, and what that leaves open.

    Parameters
    ----------
    values, one, other : arrays of shape (c, ...)
        That broadcast against each other.
    under, over : float, or array (...)
        How far the part may go below 0 and beyond 1, as edges that ring do.

    Returns
    -------
    part : array of shape (...)
    rest : array of shape (c, ...)
        Values minus the mix.

    Examples
    --------
    >>> part, rest = mixed(np.array([3.0, 1.0]), np.zeros(2), np.array([4.0, 0.0]))
    >>> float(part), rest.tolist()
    (0.75, [0.0, 1.0])
    """
    rest = values - one
    along = other - one
    part: Values = dot(rest, along)
    part /= np.maximum(dot(along, along), _LEAST_SQUARE)
    part = part.clip(-under, 1.0 + over)
    rest -= part * along
    return part, rest


def from_triangle(
    values: npt.NDArray[np.float64],
    one: npt.NDArray[np.float64],
    two: npt.NDArray[np.float64],
    three: npt.NDArray[np.float64],
) -> npt.NDArray[np.float64]:
    """Return the distances (...) of values from the inside of triangles, (c, ...), infinity beside them.

    Examples
    --------
    >>> corners = np.eye(3) * 3.0
    >>> [round(float(from_triangle(np.full(3, at), *corners)), 6) for at in (1.0, 2.0)]
    [0.0, 1.732051]
    """
    u, v, w = two - one, three - one, values - one
    uu, uv, vv, wu, wv = dot(u, u), dot(u, v), dot(v, v), dot(w, u), dot(w, v)
    scale = uu * vv - uv * uv
    flat = scale <= _LEAST_SQUARE * uu * vv
    scale = np.where(flat, 1.0, scale)
    s, t = (vv * wu - uv * wv) / scale, (uu * wv - uv * wu) / scale
    rest = w - s * u - t * v
    beside = flat | (s < 0.0) | (t < 0.0) | (s + t > 1.0)
    return np.where(beside, np.inf, np.sqrt(dot(rest, rest)))


def left_open(
    values: Values,
    near: npt.NDArray[np.uint16],
    calm: npt.NDArray[np.bool_],
    colors: Values,
    *,
    noise: Values,
    most: float,
    apart: bool,
) -> Values:
    """Return what the near colors leave open of each value, in squares of its noise.

    Parameters
    ----------
    values : array of shape (c, n)
    near : uint16 array of shape (n,)
        Which of the colors are near to each value, as bits; none leave all of it open.
    calm : bool array of shape (n,)
        Values that do not mix: their neighbors show the same.
    colors : array of shape (c, k)
        At most 16.
    noise : array of shape (n,)
        What may be left open of what is explained, in levels.
    most : float
        More is never left open.
    apart : bool
        Whether the first channel is luma and passes from color to color apart from the others, as in lossy
        pictures: any luma between two colors, overshooting by 25 %, goes with any such chroma. Else values
        mix by one part.

    Returns
    -------
    array of shape (n,)
        The least over all single near colors and, where not calm, all pairs of them.
    """
    best = np.full_like(noise, most)
    scale = 1.0 / (noise * noise)
    for one in range(colors.shape[1]):
        for other in range(one, colors.shape[1]):
            pair = np.uint16((1 << one) | (1 << other))
            both = (near & pair) == pair
            # A pair explains what either of its colors does.
            here = np.flatnonzero(both & (calm | (near == pair)) if one == other else both & ~calm)
            if len(here):
                ends = colors[:, one][:, None], colors[:, other][:, None]
                square = _square(values[:, here], *ends, apart=apart) * scale[here]
                best[here] = np.minimum(best[here], square)
    return best


def tint_left_open(
    values: Values, near: npt.NDArray[np.uint16], colors: Values, *, noise: Values, most: float
) -> Values:
    """Return what tints leave open of each value of a lossy picture: one color with some of another's chroma.

    Compressed chroma is held at half the size: it bleeds, and overshoots, farther than luma does.

    Parameters
    ----------
    values, near, colors, noise, most
        As for `left_open`; the first channel is luma.

    Returns
    -------
    array of shape (n,)

    Examples
    --------
    >>> colors = np.array([[200.0, 100.0], [0.0, 10.0], [0.0, 50.0]])
    >>> values = np.array([[200.0, 150.0], [1.0, 1.0], [5.0, 5.0]])
    >>> near, noise = np.array([3, 3], np.uint16), np.array([4.0, 4.0])
    >>> tint_left_open(values, near, colors, noise=noise, most=36.0).tolist()
    [0.0, 36.0]
    """
    best = np.full_like(noise, most)
    for one, other in permutations(range(colors.shape[1]), 2):
        pair = np.uint16((1 << one) | (1 << other))
        here = np.flatnonzero((near & pair) == pair)
        ends = colors[1:, one][:, None], colors[1:, other][:, None]
        _, rest = mixed(values[1:, here], *ends, under=_OVER, over=_OVER - 1.0)
        luma = values[0, here] - colors[0, one]
        square = (luma * luma + dot(rest, rest)) / (noise[here] * noise[here])
        best[here] = np.minimum(best[here], square)
    return best


def _square(values: Values, one: Values, other: Values, *, apart: bool) -> Values:
    """Return the squared distance (n,) of values from what two colors mix."""
    if not apart:
        _, rest = mixed(values, one, other)
        return dot(rest, rest)
    _, rest = mixed(values[1:], one[1:], other[1:], under=_OVER, over=_OVER)
    middle, half = (one[0] + other[0]) / 2, np.abs(one[0] - other[0]) * (0.5 + _OVER)
    beyond = np.maximum(np.abs(values[0] - middle) - half, 0.0)
    square: Values = beyond * beyond + dot(rest, rest)
    return square
