"""What is like the ground: paint where an edge parts it from the ground, less light where none does."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, luma_chroma, srgb_to_lab
from .background import LIKE_BACKGROUND, SEEN_APART
from .fold import borders
from .mixing import Flags
from .modes import NO_CLUSTER, Clusters, Floats
from .palette import Choice
from .soft import Picture, shades

__all__ = ["Modes", "beside_ground", "without_light"]

_WHOLE_SHARE = 0.3  # of its pixels that a whole area has amid their like: halos have less
_TINT_LUMA = 4.0  # levels by which luma, at full resolution, strays in a tint
_EDGE_PX, _RING_PX = 2, 4  # so far up, down, left and right; compression's chroma bleeds over blocks


@dataclass(frozen=True, slots=True)
class Modes:
    """The modes of a picture, and which of them each calm pixel shows."""

    clusters: Clusters
    cluster_map: npt.NDArray[np.uint8]
    picture: Picture


def beside_ground(modes: Modes, ground: Floats | None) -> Flags:
    """Return which modes (k,) are no ground though they are like it: even areas that an edge parts from it.

    Noise, light and compression are what makes a color near to the ground's doubtful. In a picture without
    noise a whole area of one value is what was drawn, if an eye can tell it and it does not pass into the
    ground. Compression leaves whole blocks tinted, but of the ground's luma.

    Parameters
    ----------
    modes : Modes
    ground : float64 array of shape (3,) or None
        Its color; None where it is transparent or there is none.
    """
    colors, capture = modes.clusters.colors, modes.picture.capture
    apart = np.zeros(len(colors), dtype=bool)
    if ground is None or capture.sigma > 0.0:
        return apart
    gaps = ciede2000(srgb_to_lab(colors), srgb_to_lab(ground))
    doubtful = (gaps >= SEEN_APART) & (gaps < LIKE_BACKGROUND)
    if capture.lossy:
        luma = luma_chroma(colors)[:, 0] - luma_chroma(ground[None])[0, 0]
        doubtful &= np.abs(luma) >= _TINT_LUMA
    own = np.flatnonzero(np.isin(modes.cluster_map, np.flatnonzero(gaps < SEEN_APART)))
    for cluster in np.flatnonzero(doubtful):
        here = modes.cluster_map == cluster
        if _is_whole(here, _RING_PX if capture.lossy else _EDGE_PX):
            _, edge = borders(modes.picture.mixing.planes[:3], [own, np.flatnonzero(here)], capture.bled)
            apart[cluster] = len(edge) > 0 and edge.all()
    return apart


def _is_whole(area: Flags, reach: int) -> bool:
    """Return whether enough pixels of an area have their like that far up, down, left and right."""
    height, width = area.shape[0] - 2 * reach, area.shape[1] - 2 * reach
    inner = area[reach:-reach, reach:-reach].copy()
    for row, column in ((0, reach), (2 * reach, reach), (reach, 0), (reach, 2 * reach)):
        inner &= area[row : row + height, column : column + width]
    return bool(np.count_nonzero(inner) >= _WHOLE_SHARE * np.count_nonzero(area))


def without_light(choice: Choice, modes: Modes, background: Floats | None) -> Choice:
    """Give shades of a photograph's ground that meet it in no edge to it: there was less light, no paint."""
    clusters, picture = modes.clusters, modes.picture
    if background is None or not picture.capture.photographed:
        return choice
    color = np.append(choice.of_cluster, np.full(NO_CLUSTER + 1 - len(choice.of_cluster), -2))
    passing = color == -1
    passing[: len(choice.of_cluster)] |= shades(clusters.colors, background) & (choice.of_cluster == -2)
    lit = np.zeros(len(choice.colors), dtype=bool)
    for number in np.flatnonzero(shades(choice.colors, background)):
        areas = [np.flatnonzero(chosen[modes.cluster_map]) for chosen in (passing, color == number)]
        _, edge = borders(picture.mixing.planes[:3], areas, picture.capture.bled)
        lit[number] = len(edge) > 0 and not edge.any()
    number_of = np.append(np.where(lit, -1, np.cumsum(~lit) - 1), [-2, -1])  # the last two of themselves
    return Choice(choice.colors[~lit], choice.shown[~lit], number_of[choice.of_cluster])
