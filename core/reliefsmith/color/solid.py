"""Small patches with few calm pixels: colors too, where they fill a place that no mixture explains."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..chroma import ciede2000, srgb_to_lab
from .choose import MOST_COLORS, Choice
from .lossy import bleeds
from .mixing import Flags, Mixing, mixes_two, widened
from .modes import Clusters, Floats

__all__ = ["with_patches"]

_LEAST_CALM = 12  # pixels
_LEAST_GAP = 8.0  # dE00 from every known color: halos are nearer to what they surround
_MOST_LOOKS = 6  # candidates: each costs a look through the picture
_LIKE, _RIM = 24.0, 60.0  # levels from the color within a patch, and on the rim that belongs to it
_CORE_PX, _LOSSY_CORE_PX = 2, 4  # all round a pixel of the core: ringing is narrower
_LEAST_CORE, _LEAST_CORE_LOSSY = 1, 12  # pixels
_LEAST_SHARE = 0.0004  # of the art
_AROUND_PX, _LOSSY_AROUND_PX = (
    4,
    12,
)  # where the colors lie that may mix into the patch; JPEG's blocks are 8 px
_MIXED_REACH = 12.0  # levels from the line between two colors
_MIXED_REACH_PER_SIGMA = 3.0
_BLEED_REACH = 8.0  # levels of Cb, Cr

Bits = npt.NDArray[np.uint8]


def with_patches(
    choice: Choice,
    clusters: Clusters,
    cluster_map: Bits,
    mixing: Mixing,
    *,
    background: Floats | None,
    art_px: float,
    sigma: float,
    lossy: bool,
    scale: float,
) -> Choice:
    """Add the colors of small patches to those that were chosen.

    A mode that was not chosen is a color if it is dE00 8 from all others and fills a place of 0.04 % of the
    art with a core, while no color near to the place mixes with any other into it.

    Parameters
    ----------
    choice : Choice
    clusters : Clusters
    cluster_map : uint8 array of shape (h, w)
        Cluster of each calm pixel, 255 elsewhere.
    mixing : Mixing
    background : float64 array of shape (3,) or None
    art_px, sigma, lossy
        As for `choose_colors`.
    scale : float
        Working pixels per source pixel.
    """
    candidates = np.flatnonzero((choice.of_cluster == -2) & (clusters.weights >= _LEAST_CALM))
    looks = 0
    for cluster in candidates:  # heaviest first
        known = choice.shown if background is None else np.concatenate([choice.shown, background[None]])
        color = clusters.colors[cluster]
        full = len(choice.colors) >= MOST_COLORS or looks == _MOST_LOOKS
        if full or len(known) == 0:
            break
        if ciede2000(srgb_to_lab(known), srgb_to_lab(color)).min() < _LEAST_GAP:
            continue
        looks += 1
        place = _Place(cluster_map, int(cluster), mixing, color, known, lossy=lossy, scale=scale)
        if not place.is_solid(_LEAST_SHARE * art_px):
            continue
        label_of = np.append(choice.of_cluster, -2)[
            np.minimum(cluster_map[place.box], len(choice.of_cluster))
        ]
        near = known[np.unique(label_of[place.around & (label_of > -2)])]  # -1, the background, is the last
        if not _is_mixed(color, near, known, _MIXED_REACH + _MIXED_REACH_PER_SIGMA * sigma, lossy=lossy):
            choice = _added(choice, int(cluster), color)
    return choice


class _Place:
    """Where a color shows in pixels that are nearer to it than to any known one."""

    def __init__(
        self,
        cluster_map: Bits,
        cluster: int,
        mixing: Mixing,
        color: Floats,
        known: Floats,
        *,
        lossy: bool,
        scale: float,
    ) -> None:
        times = max(scale, 1.0)
        reach = round(_LOSSY_CORE_PX * times) if lossy else _CORE_PX
        away = round((_LOSSY_AROUND_PX if lossy else _AROUND_PX) * times)
        rows, columns = np.nonzero(cluster_map == cluster)
        margin = reach + away
        self.box = tuple(
            slice(max(int(at.min()) - margin, 0), int(at.max()) + margin + 1) for at in (rows, columns)
        )
        like, rim = self._like(mixing, color, known)
        core = ~widened(~like, reach)
        self.core_px = int(np.count_nonzero(core))
        self.least_core = _LEAST_CORE_LOSSY if lossy else _LEAST_CORE
        patch = widened(core, reach + 1) & rim
        self.patch_px = int(np.count_nonzero(patch))
        self.around: Flags = widened(patch, away) & ~patch

    def _like(self, mixing: Mixing, color: Floats, known: Floats) -> tuple[Flags, Flags]:
        shown = np.stack([plane[self.box] for plane in mixing.planes[:3]], axis=-1).astype(np.float32)
        own = ((shown - color.astype(np.float32)) ** 2).sum(axis=-1)
        nearest: Flags = own < _RIM * _RIM
        for other in known.astype(np.float32):  # at most nine
            nearest &= own < ((shown - other) ** 2).sum(axis=-1)
        return nearest & (own < _LIKE * _LIKE), nearest

    def is_solid(self, least: float) -> bool:
        """Return whether the place has a core and at least so many pixels."""
        return self.core_px >= self.least_core and self.patch_px >= max(least, float(_LEAST_CALM))


def _is_mixed(color: Floats, near: Floats, known: Floats, reach: float, *, lossy: bool) -> bool:
    """Return whether a near color mixes with any other into this one, or two near ones bleed into it."""
    if len(near) == 0:
        return True
    pairs = (np.stack([one, other]) for one in near for other in known)
    return any(mixes_two(color, pair, reach) for pair in pairs) or (
        lossy and bleeds(color, near, _BLEED_REACH)
    )


def _added(choice: Choice, cluster: int, color: Floats) -> Choice:
    of_cluster = choice.of_cluster.copy()
    of_cluster[cluster] = len(choice.colors)
    more = color[None]
    return Choice(np.concatenate([choice.colors, more]), np.concatenate([choice.shown, more]), of_cluster)
