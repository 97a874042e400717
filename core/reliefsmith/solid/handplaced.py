"""Hand relief in the artwork's frame, from a file with a frame or a picture drawn over the artwork's own."""

from __future__ import annotations

import math
import warnings

import numpy as np

from ..errors import RecipeError
from ..model import FlatAreas, Frame, HandPicture, HandRelief
from ..model.arrays import Plane
from ..progress import Progress, Steps, drained

__all__ = ["FINEST_MM", "handed", "handed_steps"]

FINEST_MM = 0.05
"""Values closer than this are averaged: an eighth of a bead."""


def handed_steps(areas: FlatAreas, picture: HandPicture | None) -> Steps[HandRelief | None]:
    """Return hand relief bound to places of the artwork, no finer than anything prints.

    Parameters
    ----------
    areas : FlatAreas
        Their frame and width.
    picture : HandPicture or None

    Raises
    ------
    RecipeError
        If it has no frame and another shape than the artwork's picture.
    """
    if picture is None:
        return None
    yield Progress("reading the hand relief", 0.0)
    width = areas.size_mm[0]
    if picture.origin is None or picture.step is None:
        relief = _over_picture(picture, areas.frame, width)
    else:
        relief = HandRelief(picture.values, picture.origin, picture.step)
    return _reduced(relief, max(1, math.floor(FINEST_MM / (relief.step * width) + 1e-9)))


handed = drained(handed_steps)


def _over_picture(picture: HandPicture, frame: Frame, width_mm: float) -> HandRelief:
    """Return a picture that covers the artwork's own as hand relief; a turned one is sampled anew."""
    (wide, high), (rows, columns) = frame.image_px, picture.values.shape
    per_px = columns / wide
    if abs(rows - high * per_px) > 1 and abs(columns - rows * wide / high) > 1:
        raise RecipeError(
            f"{picture.name} is {columns} x {rows} and the artwork's picture {wide} x {high}, so it has no"
            " place on it; give it the same shape, or set heights.hand_origin and heights.hand_step"
        )
    step_mm = frame.mm_per_px / per_px
    first_px = np.array([0.5, 0.5]) / per_px - frame.origin_px
    if frame.turn_deg == 0:
        x, y = (first_px * (frame.mm_per_px, -frame.mm_per_px) / width_mm).tolist()
        return HandRelief(picture.values, (x, y), step_mm / width_mm)
    turn = math.radians(frame.turn_deg)
    right = np.array([math.cos(turn), math.sin(turn)])
    down = np.array([-math.sin(turn), math.cos(turn)])
    corners = np.array([(0, 0), (wide, 0), (0, high), (wide, high)]) - frame.origin_px
    across, along = corners @ right, corners @ down
    x_mm = np.arange(across.min(), across.max(), 1 / per_px) * frame.mm_per_px
    down_mm = np.arange(along.min(), along.max(), 1 / per_px) * frame.mm_per_px
    grid = np.stack(np.meshgrid(x_mm, down_mm), axis=-1).reshape(-1, 2) / frame.mm_per_px
    places = frame.origin_px + grid[:, :1] * right + grid[:, 1:] * down
    flat = HandRelief(picture.values, (0.5 / per_px, -0.5 / per_px), 1 / per_px)  # in pixels, y up
    values = flat.at(places * (1, -1), 1.0).reshape(len(down_mm), len(x_mm)).astype(np.float32)
    origin = (float(x_mm[0]) / width_mm, -float(down_mm[0]) / width_mm)
    return HandRelief(values, origin, step_mm / width_mm)


def _reduced(relief: HandRelief, factor: int) -> HandRelief:
    """Return the mean of every square of so many values; what is left over at the last edges is left out."""
    if factor == 1:
        return relief
    values = relief.values
    rows, columns = (max(1, size // factor) for size in values.shape)
    square: Plane = values[: rows * factor, : columns * factor]
    if square.shape != (rows * factor, columns * factor):  # fewer values than a square has
        return relief
    blocks = square.reshape(rows, factor, columns, factor)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # squares that hold nowhere
        means = np.nanmean(blocks.astype(np.float64), axis=(1, 3)).astype(np.float32)
    shift = (factor - 1) / 2 * relief.step
    return HandRelief(means, (relief.origin[0] + shift, relief.origin[1] - shift), relief.step * factor)
