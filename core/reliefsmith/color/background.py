"""The background's color: what the picture's outer frame shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..chroma import ciede2000, parse_hex, srgb_to_lab
from ..chroma.median import median
from ..errors import ArtworkError
from ..model.artwork import Artwork
from ..sections import BackgroundSettings
from .mixing import Mixing
from .modes import Floats, count_bins, find_clusters

__all__ = ["SAME_COLOR", "Frame", "Ground", "frame_color", "ground_of"]

SAME_COLOR = 4.2
"""CIEDE2000 under which a color is the background's. Colors 5 apart in the artwork must stay two, and light,
noise and compression bring them nearer by up to 0.7."""

_LIKE_FRAME = 5.0  # dE00 from the frame's color for what counts as that color along the frame

_PICK_REACH = 12.0  # dE00 from a color of the settings within which one of the picture's is meant
_PICK_STEP = 3  # every third pixel each way shows all colors large enough to be a background
_PICK_SHARE = 0.002  # of the picture
_FRAME_PX = 2  # width of the frame that is looked at
_SURE_SHARE = 0.6  # of the frame in one color: the art lies on a ground
_PAPER_SHARE = 0.5  # more than half is enough for near white, the color of paper
_PAPER_LEVEL = 235.0
_LEAST_SHARE = 0.25  # enough if three corners show it too: art may touch the border


@dataclass(frozen=True, slots=True)
class Frame:
    """What the outer frame shows.

    Parameters
    ----------
    color : float64 array of shape (3,)
        Its commonest color, sRGB 0 to 255.
    is_ground : bool
        Whether that color is the ground of the art rather than one of several colors that reach the border.
    """

    color: Floats
    is_ground: bool


@dataclass(frozen=True, slots=True)
class Ground:
    """What is background.

    Parameters
    ----------
    frame : float64 array of shape (3,) or None
        The frame's commonest color; None in a cut-out picture.
    exists : bool
        Whether anything is background.
    """

    frame: Floats | None
    exists: bool

    @property
    def color(self) -> Floats | None:
        """The background's color; None where it is transparent or there is none."""
        return self.frame if self.exists else None


def ground_of(artwork: Artwork, mixing: Mixing, sigma: float, settings: BackgroundSettings) -> Ground:
    """Judge what is background, by mode and color of the settings.

    A cut-out picture's background is what is transparent, whatever the settings.

    Raises
    ------
    ArtworkError
        If the mode is "alpha" and the picture has no transparency, or if the color given is none of its own.
    """
    mode = settings.mode
    if artwork.has_alpha:
        return Ground(None, exists=True)
    if mode == "alpha":
        raise ArtworkError('the picture has no transparency; set background.mode to "border" or "auto"')
    if settings.color != "auto" and mode != "none":
        return Ground(_shown_color(mixing, sigma, settings.color), exists=True)
    frame = frame_color(mixing, sigma)
    return Ground(frame.color, exists=mode == "border" or (mode == "auto" and frame.is_ground))


def _shown_color(mixing: Mixing, sigma: float, text: str) -> Floats:
    """Return the picture's own color that is nearest to a given one: a pick may hit a pixel of noise."""
    sample = Mixing(tuple(plane[::_PICK_STEP, ::_PICK_STEP] for plane in mixing.planes[:3]), None)
    bins = count_bins(sample, sample.keys(), np.ones(sample.shape, dtype=bool))
    clusters = find_clusters(bins, sigma)
    gaps = ciede2000(srgb_to_lab(clusters.colors), srgb_to_lab(np.array(parse_hex(text))))
    gaps = np.where(clusters.weights >= _PICK_SHARE * sample.shape[0] * sample.shape[1], gaps, np.inf)
    nearest = int(np.argmin(gaps))
    if gaps[nearest] > _PICK_REACH:
        raise ArtworkError(f"background.color is {text}, which the picture does not show; pick it from there")
    color: Floats = clusters.colors[nearest]
    return color


def frame_color(mixing: Mixing, sigma: float) -> Frame:
    """Find the commonest color of the outer frame and judge whether it is a ground.

    It is a ground if it fills 60 % of the frame (more than half, if it is near white), or 25 % with at
    least three of the corners.
    """
    height, width = mixing.shape
    inside = np.zeros((height, width), dtype=bool)
    inside[_FRAME_PX:-_FRAME_PX, _FRAME_PX:-_FRAME_PX] = True
    at = np.flatnonzero(~inside)
    strip = Mixing(tuple(plane.ravel()[at][None] for plane in mixing.planes[:3]), None)
    bins = count_bins(strip, strip.keys(), np.ones(strip.shape, dtype=bool))
    clusters = find_clusters(bins, sigma)
    color = clusters.colors[int(np.argmax(clusters.weights))]
    lab = srgb_to_lab(color)
    share = bins.counts[ciede2000(bins.labs, lab) < _LIKE_FRAME].sum() / bins.counts.sum()
    corners = sum(_corner_shows(mixing, row, column, lab) for row in (0, 1) for column in (0, 1))
    sure = share > (_PAPER_SHARE if color.min() >= _PAPER_LEVEL else _SURE_SHARE)
    return Frame(color, bool(sure or (share >= _LEAST_SHARE and corners >= 3)))


def _corner_shows(mixing: Mixing, row: int, column: int, lab: Floats) -> bool:
    rows = slice(-4, None) if row else slice(4)
    columns = slice(-4, None) if column else slice(4)
    color = np.array([median(plane[rows, columns].ravel()) for plane in mixing.planes[:3]])
    return bool(ciede2000(srgb_to_lab(color), lab) < _LIKE_FRAME)
