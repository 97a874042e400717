"""Small patches with few calm pixels: colors too, where they fill a place that no mixture explains."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..colorimetry import ciede2000, srgb_to_lab
from ..recipe.sections.limits import MOST_COLORS
from .capture import Capture
from .choose import Choice
from .lossy import bleeds
from .mixing import Flags, Mixing, mixes_two, widened
from .modes import NO_CLUSTER, Clusters, Floats, Ints

__all__ = ["with_patches"]

_LEAST_CALM = 12  # pixels
_LEAST_GAP = 8.0  # dE00 from every known color: halos are nearer to what they surround
_MOST_LOOKS = 6  # candidates, the heaviest first ...
_MOST_CELLS = 4  # ... each where it has most calm pixels: edges are all over a compressed picture
_CELL_PX = 32
_LIKE, _RIM = 24.0, 60.0  # levels from the color within a patch, and on the rim that belongs to it
_CORE_PX, _LOSSY_CORE_PX = 2, 4  # all round a pixel of the core: ringing is narrower
_LEAST_CORE, _LEAST_CORE_LOSSY = 1, 12  # pixels
_LEAST_SHARE = 0.0004  # of the art
_AROUND_PX, _LOSSY_AROUND_PX = 4, 12  # where colors lie that may mix into the patch; JPEG's blocks are 8 px
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
    capture: Capture,
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
    art_px, capture
        As for `choose_colors`.
    """
    known = choice.shown if background is None else np.concatenate([choice.shown, background[None]])
    candidates = np.flatnonzero((choice.of_cluster == -2) & (clusters.weights >= _LEAST_CALM))
    if len(known) == 0 or len(candidates) == 0:
        return choice
    gaps = ciede2000(srgb_to_lab(clusters.colors[candidates])[:, None], srgb_to_lab(known)[None])
    apart = candidates[gaps.min(axis=1) >= _LEAST_GAP][:_MOST_LOOKS]
    for cluster in apart:  # heaviest first
        color = clusters.colors[cluster]
        gap = ciede2000(srgb_to_lab(known), srgb_to_lab(color)).min()
        if len(choice.colors) >= MOST_COLORS or gap < _LEAST_GAP:
            continue
        table = np.full(NO_CLUSTER + 1, -2, dtype=np.int64)
        table[: len(choice.of_cluster)] = choice.of_cluster
        place = _Place(mixing, cluster_map, table, color, known, capture=capture)
        place.look(int(cluster))
        if place.pixels() < max(_LEAST_SHARE * art_px, _LEAST_CALM):
            continue
        near = known[sorted(place.near)]  # -1, the background, is the last
        if not _is_mixed(
            color, near, known, _MIXED_REACH + _MIXED_REACH_PER_SIGMA * capture.sigma, lossy=capture.lossy
        ):
            choice = _added(choice, int(cluster), color)
            known = np.insert(known, len(choice.colors) - 1, color, axis=0)
    return choice


class _Place:
    """Where a color fills places in pixels that are nearer to it than to any known one."""

    def __init__(
        self,
        mixing: Mixing,
        cluster_map: Bits,
        table: Ints,
        color: Floats,
        known: Floats,
        *,
        capture: Capture,
    ) -> None:
        times, lossy = capture.enlarged, capture.lossy
        self.mixing, self.cluster_map, self.table = mixing, cluster_map, table
        self.color, self.known = color.astype(np.float32), known.astype(np.float32)
        self.reach = round(_LOSSY_CORE_PX * times) if lossy else _CORE_PX
        self.away = round((_LOSSY_AROUND_PX if lossy else _AROUND_PX) * times)
        self.least_core = _LEAST_CORE_LOSSY if lossy else _LEAST_CORE
        self.near: set[int] = set()
        self._found: list[Ints] = []

    def pixels(self) -> int:
        """Return how many pixels were found that belong to places with a core."""
        return len(np.unique(np.concatenate(self._found))) if self._found else 0

    def look(self, cluster: int) -> None:
        """Look where the cluster has most of its calm pixels."""
        rows, columns = np.divmod(np.flatnonzero(self.cluster_map == cluster), self.cluster_map.shape[1])
        across = self.cluster_map.shape[1] // _CELL_PX + 1
        cells, counts = np.unique(rows // _CELL_PX * across + columns // _CELL_PX, return_counts=True)
        for cell in cells[np.argsort(-counts, kind="stable")[:_MOST_CELLS]]:
            self._look_at(*(int(at) * _CELL_PX for at in divmod(cell, across)))

    def _look_at(self, top: int, left: int) -> None:
        margin = self.reach + 1 + self.away
        first = (max(top - margin, 0), max(left - margin, 0))
        box = tuple(
            slice(start, at + _CELL_PX + margin) for start, at in zip(first, (top, left), strict=True)
        )
        like, rim = self._like(box)
        core = np.zeros_like(like)
        inner = (slice(self.reach, -self.reach),) * 2  # beyond the box nothing is known
        core[inner] = ~widened(~like, self.reach)[inner]
        if np.count_nonzero(core) < self.least_core:
            return
        patch = widened(core, self.reach + 1) & rim
        rows, columns = np.nonzero(patch)
        self._found.append((rows + first[0]) * self.cluster_map.shape[1] + columns + first[1])
        around = self.table[self.cluster_map[box][widened(patch, self.away) & ~patch]]
        self.near.update(np.unique(around[around > -2]).tolist())

    def _like(self, box: tuple[slice, ...]) -> tuple[Flags, Flags]:
        """Return which pixels show the color, and which belong to it with its rim."""
        shown = np.stack([plane[box] for plane in self.mixing.planes[:3]]).astype(np.float32)
        own = ((shown - self.color[:, None, None]) ** 2).sum(axis=0)
        nearest: Flags = own < _RIM * _RIM
        for other in self.known:  # at most nine
            nearest &= own < ((shown - other[:, None, None]) ** 2).sum(axis=0)
        return nearest & (own < _LIKE * _LIKE), nearest


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
