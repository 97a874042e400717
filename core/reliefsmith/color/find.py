"""Find the flat colors of a picture: calm pixels vote, modes are found, shading is joined, few are chosen."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..findings import Note
from ..model.artwork import CLEAR, Artwork
from ..progress import Progress, Steps
from ..recipe.sections import ColorSettings
from .background import LIKE_BACKGROUND, Ground
from .capture import Capture, Picture, calm_pixels, local_range
from .even import evened_steps
from .groundlike import Modes, beside_ground, without_light
from .mixing import BINS, CHANNELS, Bytes, Mixing
from .modes import NO_CLUSTER, Bins, Clusters, Floats, Ints, count_bins, find_clusters
from .palette import Choice, choose_colors, palette_choice

__all__ = ["UNLABELED", "Found", "find_steps", "mixing_colors"]

UNLABELED = 255


@dataclass(frozen=True, slots=True)
class Found:
    """The colors found and the calm pixels that show them.

    Parameters
    ----------
    mixing : Mixing
        The picture that they were found in: without shadow and shading, where it had any.
    choice : Choice
    seeds : uint8 array of shape (h, w)
        Label of each pixel that shows its color undiluted, 255 elsewhere.
    art_px : float
        Pixels that are not background.
    shadow : bool
        Whether the background has a shadow on it.
    capture : Capture
        How the picture came, as far as nothing was evened.
    notes : tuple of Note
        On the ground, and on shading that was cut in two.
    """

    mixing: Mixing
    choice: Choice
    seeds: npt.NDArray[np.uint8]
    art_px: float
    shadow: bool
    capture: Capture
    notes: tuple[Note, ...]


def find_steps(
    artwork: Artwork, mixing: Mixing, capture: Capture, ground: Ground, settings: ColorSettings
) -> Steps[Found]:
    """Find the flat colors and seed the pixels that show them, in small steps."""
    yield Progress("finding calm areas", 0.05)
    ranges = local_range(mixing)
    picture = _picture(mixing, ranges, capture)
    even = yield from evened_steps(picture, ranges, ground.color)
    shadow, notes = False, ground.notes
    if even is not None:
        mixing, shadow, notes = even.mixing, even.shadow, (*notes, *even.notes)
        capture = replace(capture, lossy=even.lossy)
        picture = _picture(mixing, local_range(mixing), capture)
    yield Progress("finding flat colors", 0.3)
    bins = picture.bins
    clusters = find_clusters(bins, capture.sigma)
    art_px = _art_pixels(artwork, bins, ground)
    if settings.palette:
        choice = palette_choice(clusters, settings.palette, ground.color)
    else:
        cluster_map = _by_bin(picture, np.where(clusters.of_bin < 0, NO_CLUSTER, clusters.of_bin))
        yield Progress("choosing flat colors", 0.4)
        modes = Modes(clusters, cluster_map, picture)
        beside = beside_ground(modes, ground.color)
        choice = choose_colors(
            clusters, cluster_map, ground.color, art_px, capture, beside=beside, count=settings.count
        )
        choice = without_light(choice, modes, ground.color)
    choice = _never_empty(choice, ground)
    yield Progress("marking calm pixels", 0.45)
    seeds = _by_bin(picture, _bin_labels(bins, clusters, choice, ground, capture))
    if mixing.opaque is not None:
        seeds[mixing.planes[3] <= CLEAR] = 0
    return Found(mixing, choice, seeds, art_px, shadow, capture, notes)


def _picture(mixing: Mixing, ranges: Bytes, capture: Capture) -> Picture:
    calm, keys = calm_pixels(mixing, ranges, capture), mixing.keys()
    return Picture(mixing, calm, keys, count_bins(mixing, keys, calm), capture)


def _never_empty(choice: Choice, ground: Ground) -> Choice:
    """Without a background and without a calm color the frame's commonest color is the only one."""
    if len(choice.colors) or ground.exists or ground.frame is None:
        return choice
    return replace(choice, colors=ground.frame[None], shown=ground.frame[None])


def _art_pixels(artwork: Artwork, bins: Bins, ground: Ground) -> float:
    if artwork.has_alpha:
        return float(np.count_nonzero(artwork.alpha > np.float32(0.5)))
    if ground.color is None:
        return float(artwork.alpha.size)
    near = ciede2000(bins.labs, srgb_to_lab(ground.color)) < LIKE_BACKGROUND
    return float(artwork.alpha.size - bins.counts[near].sum())


def _by_bin(picture: Picture, of_bin: Ints) -> Bytes:
    """Return what the bin of each calm pixel (h, w) has, 255 elsewhere."""
    table = np.full(BINS, UNLABELED, dtype=np.uint8)
    table[picture.bins.keys] = of_bin
    shown: Bytes = np.take(table, picture.keys)
    np.copyto(shown, UNLABELED, where=~picture.calm)
    return shown


def _bin_labels(bins: Bins, clusters: Clusters, choice: Choice, ground: Ground, capture: Capture) -> Ints:
    """Return the label of each histogram bin (n,), 255 where its pixels show no color undiluted.

    Bins of a cluster follow it; lone bins take the nearest color.
    """
    own = np.where(clusters.of_bin < 0, -2, np.append(choice.of_cluster, -2)[clusters.of_bin])
    labels: Ints = np.where(own >= -1, own + 1, UNLABELED)
    lone = np.flatnonzero(own == -2)
    shown = choice.shown if ground.color is None else np.concatenate([[ground.color], choice.shown])
    if len(lone) and len(shown):
        offset = bins.means[lone][:, None] - shown[None]
        square = (offset * offset).sum(axis=2)
        nearest = square.argmin(axis=1)
        close = square[np.arange(len(lone)), nearest] <= capture.alike**2
        labels[lone[close]] = nearest[close] + int(ground.color is None)
    return labels


def mixing_colors(shown: Floats, ground: Ground, depth: int = CHANNELS) -> Floats:
    """Return the color of each label, the background first, in a mixing space of that many channels."""
    table = np.zeros((len(shown) + 1, depth))
    table[1:, :3] = shown
    table[1:, 3:] = 255.0
    if ground.frame is not None:
        table[0, :3] = ground.frame
    return table
