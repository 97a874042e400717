"""The background's color: what the picture's outer frame shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..colorimetry import ciede2000, color_phrase, parse_hex, srgb_to_lab
from ..errors import ArtworkError
from ..findings import Note, note
from ..model.artwork import Artwork
from ..recipe.sections import BackgroundSettings
from .capture import LEAST_SHARE, NOISE, OPEN
from .mixing import Flags, Mixing
from .modes import Floats, count_bins, find_clusters

__all__ = [
    "LIKE_BACKGROUND",
    "PICK_REACH",
    "SEEN_APART",
    "Ground",
    "frame_ground",
    "ground_of",
    "shades",
]

LIKE_BACKGROUND = 4.2
"""CIEDE2000 under which a color is the background's. Colors 5 apart in the artwork must stay two, and light,
noise and compression bring them nearer by up to 0.7."""
SEEN_APART = 2.3
"""CIEDE2000 from which an eye tells two even areas side by side: the just noticeable difference (Mahy, Van
Eycken and Oosterlinck 1994, for CIE 1976; from memory)."""

PICK_REACH = 12.0
"""CIEDE2000 from a color of the settings within which one of the picture's is meant."""
_FRAME_PX = 2  # width of the frame that is looked at
_SURE_SHARE = 0.6  # of the frame in one color: the art lies on a ground; of 310 grounds all had .93 and more
_PAPER_SHARE = 0.5  # more than half is enough for near white, the color of paper
_PAPER_LEVEL = 235.0
_FIELD_SHARE, _LEAST_CHROMA = 0.5, 30.0  # of each side, C*ab: such a color is painted, not paper
_LEAST_SHARE = 0.25  # enough if three corners show it too: art may touch the border

_SHADOW_REACH = NOISE * OPEN / 2  # levels of a shadow's color from a darker background
_DARKEST_SHADOW = 0.4  # of the background; flat from .2, with .8 five of six shadows became colors


@dataclass(frozen=True, slots=True)
class Ground:
    """What is background.

    Parameters
    ----------
    frame : float64 array of shape (3,) or None
        The frame's commonest color; None in a cut-out picture.
    exists : bool
        Whether anything is background.
    is_field : bool
        Whether the frame is part of the art though all of it has one color.
    notes : tuple of Note
        What was taken for what, where nobody said it.
    """

    frame: Floats | None
    exists: bool
    is_field: bool = False
    notes: tuple[Note, ...] = ()

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
    ground = frame_ground(mixing, sigma)
    return ground if mode == "auto" else Ground(ground.frame, exists=mode == "border")


def _shown_color(mixing: Mixing, sigma: float, text: str) -> Floats:
    """Return the picture's own color that is nearest to a given one: a pick may hit a pixel of noise."""
    everywhere = np.ones(mixing.shape, dtype=bool)
    bins = count_bins(mixing, mixing.keys(), everywhere)
    clusters = find_clusters(bins, sigma)
    gaps = ciede2000(srgb_to_lab(clusters.colors), srgb_to_lab(np.array(parse_hex(text))))
    gaps = np.where(clusters.weights >= LEAST_SHARE * everywhere.size, gaps, np.inf)
    nearest = int(np.argmin(gaps))
    if gaps[nearest] > PICK_REACH:
        raise ArtworkError(f"background.color is {text}, which the picture does not show; pick it from there")
    color: Floats = clusters.colors[nearest]
    return color


def frame_ground(mixing: Mixing, sigma: float) -> Ground:
    """Find the commonest color of the outer frame and judge whether it is a ground, and whether it is kept.

    It is a ground if it fills 60 % of the frame (more than half, if it is near white), or 25 % with at
    least three of the corners. It is a field if it is a ground of C*ab 30 or more in all four corners and
    at least half of each side: flags have it, also those whose cross or bar reaches the sides, and of papers
    only a yellow note (33; kraft paper has 25).
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
    share = bins.counts[ciede2000(bins.labs, lab) < LIKE_BACKGROUND].sum() / bins.counts.sum()
    ends = (slice(2 * _FRAME_PX), slice(-2 * _FRAME_PX, None))
    corners = [_share(mixing, (row, column), lab) > 0.5 for row in ends for column in ends]
    sure = share > (_PAPER_SHARE if color.min() >= _PAPER_LEVEL else _SURE_SHARE)
    if not sure and (share < _LEAST_SHARE or sum(corners) < 3):
        return Ground(color, exists=False)
    seen = color_phrase(int(value) for value in np.rint(color))
    if all(corners) and _is_field(mixing, lab):
        words = (
            f'All four sides show {seen}: it is kept as a plate; background.mode = "border" takes it away.'
        )
        return Ground(color, exists=False, is_field=True, notes=(note("field-kept", words),))
    words = f'The ground, {seen}, was taken for background; background.mode = "none" keeps it as a plate.'
    return Ground(color, exists=True, notes=(note("ground-taken", words),))


def _is_field(mixing: Mixing, lab: Floats) -> bool:
    """Tell whether all four sides show a color, and it is more saturated than any common paper."""
    ends, whole = (slice(_FRAME_PX), slice(-_FRAME_PX, None)), slice(None)
    sides = [side for end in ends for side in ((end, whole), (whole, end))]
    saturated = np.hypot(lab[1], lab[2]) >= _LEAST_CHROMA
    return bool(saturated) and all(_share(mixing, side, lab) >= _FIELD_SHARE for side in sides)


def _share(mixing: Mixing, part: tuple[slice, slice], lab: Floats) -> float:
    """Return the share of some rows and columns that show a color."""
    colors = np.stack([plane[part].ravel() for plane in mixing.planes[:3]], axis=1)
    return float((ciede2000(srgb_to_lab(colors), lab) < LIKE_BACKGROUND).mean())


def shades(colors: Floats, background: Floats) -> Flags:
    """Return which colors (k, 3) are the background in shadow: all channels darker by about one factor."""
    part = (colors * background).sum(axis=1) / max(float((background * background).sum()), 1.0)
    offset = np.abs(colors - part[:, None] * background).max(axis=1)
    shade: Flags = (part > _DARKEST_SHADOW) & (part < 1.0) & (offset < _SHADOW_REACH)
    return shade
