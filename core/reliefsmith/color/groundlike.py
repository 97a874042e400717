"""What is like the ground: paint where an edge parts it, less light where none does; enclosed ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, luma_chroma, srgb_to_lab
from ..colorimetry.window import amid
from ..model.arrays import Labels
from ..polygons.runs import find_pieces
from .background import LIKE_BACKGROUND, SEEN_APART, shades
from .capture import Picture
from .cost import SPREAD_PX
from .fold import borders
from .mixing import Flags, Mixing
from .modes import NO_CLUSTER, Clusters, Floats, Ints
from .palette import Choice
from .patches import filled

__all__ = [
    "Modes",
    "beside_ground",
    "enclosed_ground",
    "with_pale_areas",
    "without_ground_specks",
    "without_light",
]

_WHOLE_SHARE = 0.3  # of its pixels that a whole area has amid their like: halos have less
_EDGE_PX, _RING_PX = 2, round(SPREAD_PX)  # so far each way; compression's chroma bleeds over blocks
_SPECK_PX = 9
"""Pixels from which ground that meets the ground outside at a corner is no speck of an edge: 3 x 3. Beside
pale edges of compressed pictures specks of 2 to 12 were seen; 18 changes none of 79 pictures, 4 three."""


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
    if ground is None or capture.photographed:
        return apart
    gaps = ciede2000(srgb_to_lab(colors), srgb_to_lab(ground))
    doubtful = (gaps >= SEEN_APART) & (gaps < LIKE_BACKGROUND)
    if capture.lossy:
        luma = luma_chroma(colors)[:, 0] - luma_chroma(ground[None])[0, 0]
        doubtful &= np.abs(luma) >= capture.noise
    own = np.flatnonzero(np.isin(modes.cluster_map, np.flatnonzero(gaps < SEEN_APART)))
    for cluster in np.flatnonzero(doubtful):
        here = modes.cluster_map == cluster
        inner = amid(here, _RING_PX if capture.lossy else _EDGE_PX)
        if np.count_nonzero(inner) >= _WHOLE_SHARE * np.count_nonzero(here):
            _, edge = borders(modes.picture.mixing.planes[:3], [own, np.flatnonzero(here)], capture.bled)
            apart[cluster] = len(edge) > 0 and edge.all()
    return apart


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


def without_ground_specks(labels: Labels) -> Labels:
    """Fill specks of ground (h, w) that meet the ground outside at a corner: edges leave them."""
    pieces, outside = find_pieces(labels), find_pieces(labels, diagonal=True)
    specks = (pieces.labels == 0) & ~pieces.at_border & (pieces.areas < _SPECK_PX)
    if specks.any():
        reached = np.zeros(labels.shape, dtype=bool)
        reached.ravel()[outside.pixels((outside.labels == 0) & outside.at_border)] = True
        specks &= pieces.sums(reached) > 0
    return filled(labels, pieces, specks) if specks.any() else labels


def enclosed_ground(labels: Labels, mode: str) -> Ints:
    """Find ground that hangs together with no side of the picture.

    Whether an enclosed area is paint or an opening cannot be told from an opaque picture: on 857 areas of
    open artworks no rule on size, roundness, wall, islands or colors round it, hand-made or learned, did
    better than to show them all, and a lost white area costs the picture more than a closed opening. So they
    all show unless the user says otherwise. A ground that reaches no side at all was picked by hand: it is
    background then wherever it lies, and is kept only if the user says so.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
        0 is the ground's color, enclosed or not.
    mode : str
        "auto", "keep" or "remove".

    Returns
    -------
    int64 array of shape (n,)
        Flat positions.
    """
    pieces = find_pieces(labels)
    ground = pieces.labels == 0
    enclosed = ground & ~pieces.at_border
    if mode == "remove" or (mode == "auto" and not (ground & pieces.at_border).any()):
        enclosed[:] = False
    return pieces.pixels(enclosed)


def with_pale_areas(labels: Labels, shown: Floats, mixing: Mixing) -> Labels:
    """Give enclosed ground to a color of the art that is like the ground's, where its middle color is nearer.

    Compression makes pixels of such a color look like ground or its shadow, of a small area most of them.

    Parameters
    ----------
    labels : uint8 array of shape (h, w)
    shown : float64 array of shape (k + 1, c)
        What each label shows, the ground first.
    mixing : Mixing
        The picture as it was read.
    """
    labs = srgb_to_lab(shown[:, :3])
    rivals = np.flatnonzero(ciede2000(labs, labs[0]) < LIKE_BACKGROUND)
    if len(rivals) == 1:
        return labels
    pieces = find_pieces(labels)
    enclosed = np.flatnonzero((pieces.labels == 0) & ~pieces.at_border)
    result = labels.copy()
    for pixels in pieces.pixels_of(enclosed)[: len(enclosed)]:
        middle = [np.median(plane.ravel()[pixels]) for plane in mixing.planes[:3]]
        nearest = ciede2000(labs[rivals], srgb_to_lab(np.array(middle))).argmin()
        result.ravel()[pixels] = rivals[nearest]
    return result
