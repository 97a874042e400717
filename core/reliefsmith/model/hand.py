"""Hand relief: heights above the generated top, by place in the artwork's frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .arrays import ByContent, Floats, Plane, Points

__all__ = ["HandPicture", "HandRelief"]

_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class HandRelief(ByContent):
    """What a hand added to the tops, or took away, whatever part lies there.

    It is bound to places of the artwork, not to parts, so it outlives other colors, borders and boundaries;
    its frame counts in widths of the artwork, so it grows in the plane with the artwork while heights stay.

    Parameters
    ----------
    values : float32 array of shape (h, w)
        In mm, row 0 uppermost; NaN where it does not hold.
    origin : (float, float)
        Place of the first value, from the middle of the artwork, x right, y up, in widths of the artwork.
    step : float
        Distance of neighboring values, in widths of the artwork.

    Examples
    --------
    >>> dent = HandRelief(np.full((2, 2), -0.2, dtype=np.float32), (-0.05, 0.05), 0.1)
    >>> dent.at(np.array([[0.0, 0.0], [40.0, 0.0]]), 100.0).round(6).tolist()
    [-0.2, 0.0]
    """

    values: Plane
    origin: tuple[float, float]
    step: float

    def sampled(self, places: Points, width_mm: float) -> Floats:
        """Return heights (n,) in mm at places (n, 2) of an artwork so wide; NaN where it does not hold.

        Bilinear between values; where only some of the four around a place hold, these alone count. The
        outermost values reach half a step beyond their places, as pixels reach beyond their middles.
        """
        rows, columns = self.values.shape
        x = (places[:, 0] / width_mm - self.origin[0]) / self.step
        y = (self.origin[1] - places[:, 1] / width_mm) / self.step
        reach = 0.5 + _ROUNDING
        inside = (x >= -reach) & (x <= columns - 1 + reach) & (y >= -reach) & (y <= rows - 1 + reach)
        x, y = np.clip(x[inside], 0, columns - 1), np.clip(y[inside], 0, rows - 1)
        column = np.minimum(x.astype(np.intp), max(columns - 2, 0))
        row = np.minimum(y.astype(np.intp), max(rows - 2, 0))
        right, down = x - column, y - row
        total, weights = np.zeros(len(x)), np.zeros(len(x))
        for i, share_y in ((0, 1 - down), (1, down)):
            for k, share_x in ((0, 1 - right), (1, right)):
                value = self.values[np.minimum(row + i, rows - 1), np.minimum(column + k, columns - 1)]
                weight = np.where(np.isnan(value), 0.0, share_x * share_y)
                total += weight * np.nan_to_num(value.astype(np.float64))
                weights += weight
        found = np.full(len(places), np.nan)
        found[inside] = np.divide(total, weights, out=np.full(len(x), np.nan), where=weights > _ROUNDING)
        return found

    def at(self, places: Points, width_mm: float) -> Floats:
        """Return heights (n,) in mm at places (n, 2) in mm, of an artwork so wide; 0 where it does not hold.

        Examples
        --------
        >>> ramp = HandRelief(np.array([[0, 1], [np.nan, 1]], dtype=np.float32), (-0.05, 0.05), 0.1)
        >>> ramp.at(np.array([[-5.0, 5.0], [0.0, 5.0], [5.0, 0.0], [70.0, 0.0]]), 100.0).tolist()
        [0.0, 0.5, 1.0, 0.0]
        """
        return np.nan_to_num(self.sampled(places, width_mm))


@dataclass(frozen=True, slots=True)
class HandPicture:
    """Heights as a file or an array gives them: framed, or drawn over the artwork's own picture.

    Parameters
    ----------
    values : float32 array of shape (h, w)
        As in `HandRelief`.
    origin, step : as in `HandRelief`, or None
        Without them it covers the whole upright picture of the artwork, at any resolution.
    name : str
        By which messages call it.
    """

    values: Plane
    origin: tuple[float, float] | None = None
    step: float | None = None
    name: str = "the hand relief"
