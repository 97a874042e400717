"""Separate a picture into flat colors."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..chroma import ciede2000, srgb_to_lab
from ..errors import ArtworkError
from ..findings import Finding, finding
from ..model.arrays import Color, Labels
from ..model.artwork import Artwork, Separation
from ..progress import Progress, Steps, drained
from ..sections import BackgroundSettings, ColorSettings
from .background import SAME_COLOR, Ground, ground_of
from .calm import calm_pixels, noise_level
from .choose import Choice, choose_colors, core_shares
from .enclosed import kept_enclosed
from .given import corrected, palette_choice
from .labels import UNLABELED, edge_labels_steps, seed_labels
from .mixing import BINS, Flags, Mixing, mixing_planes
from .modes import NO_CLUSTER, Bins, Clusters, Floats, count_bins, find_clusters
from .specks import without_slivers, without_specks

__all__ = ["separate", "separate_steps"]

_SEED_REACH = 14.0  # levels from a color within which a calm pixel shows it
_SEED_REACH_PER_SIGMA = 5.0
_SEED_REACH_NOISY = 6.0
_CLEAR = 8  # opacity of 255 up to which a pixel is background


def separate_steps(
    artwork: Artwork, *, background: BackgroundSettings, colors: ColorSettings
) -> Steps[Separation]:
    """Separate a picture into flat colors in small steps.

    Parameters
    ----------
    artwork : Artwork
    background : BackgroundSettings
    colors : ColorSettings

    Returns
    -------
    Separation

    Raises
    ------
    ArtworkError
        If nothing but background is left.
    """
    yield Progress("looking for the background", 0.0)
    mixing = mixing_planes(artwork)
    sigma = noise_level(mixing)
    ground = ground_of(artwork, mixing, sigma, background.mode)
    yield Progress("finding calm areas", 0.1)
    calm = calm_pixels(mixing, sigma)
    yield Progress("counting colors", 0.2)
    keys = mixing.keys()
    bins = count_bins(mixing, keys, calm)
    yield Progress("finding flat colors", 0.35)
    clusters = find_clusters(bins, sigma)
    if colors.palette:
        choice = palette_choice(clusters, colors.palette, ground.color)
    else:
        cluster_map = _cluster_map(keys, calm, bins, clusters)
        cores = core_shares(cluster_map, len(clusters.weights), lossy=artwork.lossy)
        yield Progress("choosing flat colors", 0.45)
        choice = choose_colors(
            clusters,
            cores,
            background=ground.color,
            art_px=_art_pixels(artwork, bins, ground),
            sigma=sigma,
            lossy=artwork.lossy,
            count=colors.count,
        )
    seeds = seed_labels(keys, calm, _seed_table(bins, clusters, choice, ground, sigma), _clear(mixing))
    labels, _, _ = yield from edge_labels_steps(
        mixing,
        seeds,
        _mixing_colors(choice, ground, mixing),
        first=int(not ground.exists),
        lossy=artwork.lossy,
    )
    yield Progress("cleaning specks", 0.8)
    labels = without_specks(labels, seeds != UNLABELED, lossy=artwork.lossy)
    yield Progress("cleaning slivers", 0.85)
    labels = without_slivers(labels)
    yield Progress("judging enclosed background", 0.9)
    labels, palette = _with_enclosed(labels, _bytes(choice.colors), ground, background.enclosed)
    return _separation(labels, palette, ground, colors)


separate = drained(separate_steps)


def _mixing_colors(choice: Choice, ground: Ground, mixing: Mixing) -> Floats:
    """Return the color of each label, the background first, in the mixing space."""
    depth = len(mixing.planes)
    table = np.zeros((len(choice.shown) + 1, depth))
    table[1:, :3] = choice.shown
    table[1:, 3:] = 255.0
    if ground.frame is not None:
        table[0, :3] = ground.frame
    return table


def _clear(mixing: Mixing) -> Flags | None:
    return mixing.planes[3] <= _CLEAR if len(mixing.planes) == 4 else None


def _art_pixels(artwork: Artwork, bins: Bins, ground: Ground) -> float:
    if artwork.has_alpha:
        return float(np.count_nonzero(artwork.alpha > np.float32(0.5)))
    if ground.color is None:
        return float(artwork.alpha.size)
    near = ciede2000(bins.labs, srgb_to_lab(ground.color)) < SAME_COLOR
    return float(artwork.alpha.size - bins.counts[near].sum())


def _cluster_map(
    keys: npt.NDArray[np.int32], calm: Flags, bins: Bins, clusters: Clusters
) -> npt.NDArray[np.uint8]:
    table = np.full(BINS, NO_CLUSTER, dtype=np.uint8)
    table[bins.keys] = np.where(clusters.of_bin < 0, NO_CLUSTER, clusters.of_bin)
    cluster_map = table[keys]
    cluster_map[~calm] = NO_CLUSTER
    return cluster_map


def _seed_table(
    bins: Bins, clusters: Clusters, choice: Choice, ground: Ground, sigma: float
) -> npt.NDArray[np.uint8]:
    """Return the label of each histogram bin, 255 where its pixels show no color undiluted."""
    own = np.where(clusters.of_bin < 0, -2, np.append(choice.of_cluster, -2)[clusters.of_bin])
    labels = np.where(own >= -1, own + 1, UNLABELED)
    lone = np.flatnonzero(own == -2)
    shown = choice.shown if ground.color is None else np.concatenate([[ground.color], choice.shown])
    if len(lone) and len(shown):
        reach = max(_SEED_REACH, _SEED_REACH_PER_SIGMA * sigma + _SEED_REACH_NOISY)
        offset = bins.means[lone][:, None] - shown[None]
        square = (offset * offset).sum(axis=2)
        nearest = square.argmin(axis=1)
        close = square[np.arange(len(lone)), nearest] <= reach * reach
        labels[lone[close]] = nearest[close] + int(ground.color is None)
    table = np.full(BINS, UNLABELED, dtype=np.uint8)
    table[bins.keys] = labels
    return table


def _bytes(colors: Floats) -> npt.NDArray[np.uint8]:
    return np.floor(np.clip(colors, 0.0, 255.0) + 0.5).astype(np.uint8)


def _with_enclosed(
    labels: Labels, palette: npt.NDArray[np.uint8], ground: Ground, mode: str
) -> tuple[Labels, npt.NDArray[np.uint8]]:
    """Add the background's color to the palette where enclosed background is a color of the art."""
    if ground.color is None:
        return labels, palette
    kept = kept_enclosed(labels, mode)
    if len(kept) == 0:
        return labels, palette
    palette = np.concatenate([palette, _bytes(ground.color)[None]])
    labels = labels.copy()
    labels.ravel()[kept] = len(palette)
    return labels, palette


def _separation(
    labels: Labels, palette: npt.NDArray[np.uint8], ground: Ground, settings: ColorSettings
) -> Separation:
    """Apply the user's corrections and order the colors by falling share."""
    palette, table, findings = corrected(palette, settings)
    counts = np.bincount(table[labels.ravel()], minlength=len(palette) + 1)[1:]
    order = np.argsort(-counts, kind="stable")
    order = order[counts[order] > 0]
    if len(order) == 0:
        raise ArtworkError("nothing is left after the background is removed; the picture looks blank")
    rank = np.zeros(len(palette) + 1, dtype=np.uint8)
    rank[order + 1] = np.arange(1, len(order) + 1)
    return Separation(
        rank[table][labels],
        palette[order],
        None if ground.frame is None else _color(ground.frame),
        counts[order] / counts[order].sum(),
        (*_fewer(len(order), settings), *findings),
    )


def _color(color: Floats) -> Color:
    red, green, blue = (int(value) for value in _bytes(color))
    return red, green, blue


def _fewer(found: int, settings: ColorSettings) -> tuple[Finding, ...]:
    asked = settings.count or len(settings.palette)
    if found >= asked:
        return ()
    words = f"{found} flat color{'s were' if found > 1 else ' was'} found where {asked} were asked for"
    return (finding("colors-fewer", words),)
