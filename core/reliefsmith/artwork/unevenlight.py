"""Uneven light and shadows of a photographed picture: found on paper and inside flat inks, and divided out.

Where a patch of one ink is darker at one end than at the other, the light is; so neighboring blocks of the
same ink give the slope of the light everywhere, paper gives its level, and a bending term bridges the edges
between inks. This follows a shadow's edge also across the art, which a smooth fit to the paper cannot.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from PIL import Image

from ..colorimetry import noise_sigma
from ..findings import note
from ..model.arrays import Flags, Floats, Rgb
from ..model.artwork import Artwork
from ..progress import Progress, Steps
from .equations import Tie, shifted, solved, tied

__all__ = ["divided_steps"]


_LEAST_BLOCKS = 12  # along the shortest side: with less there is no light to be found
_BLOCKS = 110  # along the longest side: finer than a soft shadow's edge, coarse enough to average noise out
_LEAST_SPREAD = 5.0  # levels between light and dark paper below which nothing is done
_LEAST_NOISE = 0.15  # levels: a clean drawing with a graded ground is no photograph
_ROUGH = (0.014, 0.03)  # most deviation, share of the mean, in a block of one ink; on rough paper
_ROUGH_PER_SIGMA = 2.0
_SAME_INK = 0.06  # log ratio between neighbors up to which they may be one ink under uneven light
_LONE_STEP = 0.025  # log ratio by which a step exceeds both its neighbors': light changes over several blocks
_PAPER = 0.035  # log ratio to the light found, up to which a block is paper
_RING_PAPER_SHARE = 0.5  # of the outer blocks that must be paper
_DARKEST_PAPER = 0.35  # of the lightest: darker outer blocks are no paper in shadow
_BEND_WEIGHT = 0.02
_PAPER_WEIGHT = 0.5
_ROUNDS = 3
_MOST_RESIDUAL = 0.012  # log: if paper stays more uneven than this, the model does not fit; leave it


def divided_steps(artwork: Artwork, *, photographed: bool = False) -> Steps[Artwork]:
    """Divide uneven light out of a photographed picture; paper becomes white.

    Left alone are cut-out pictures, clean drawings unless they are known to be `photographed`, evenly lit
    ones, and those without paper all round.
    """
    if artwork.has_alpha or min(artwork.rgb.shape[:2]) < _LEAST_BLOCKS * _block_px(artwork.rgb):
        return artwork
    yield Progress("looking at the light", 0.9)
    noise = max(noise_sigma(artwork.rgb[..., channel]) for channel in range(3))
    if noise < _LEAST_NOISE and not photographed:
        return artwork
    light = None
    for rough in _ROUGH:
        blocks = _Blocks(artwork.rgb, noise, rough)
        if blocks.looks_photographed():
            yield Progress("evening the light", 0.93)
            light = blocks.light()
            break
    if light is None:
        return artwork
    yield Progress("evening the light", 0.97)
    rgb = _divided(artwork.rgb, light, blocks.step)
    paper = np.exp(light.min() - light.max())
    words = f"uneven light was divided out; the darkest place got {paper * 100:.0f} % of the lightest"
    return replace(artwork, rgb=rgb, notes=(*artwork.notes, note("light-divided", words)))


def _block_px(rgb: Rgb) -> int:
    longest: int = max(rgb.shape[:2])
    return max(-(-longest // _BLOCKS), 4)


class _Blocks:
    """Means and roughness of square blocks of a picture, and the light found from them."""

    def __init__(self, rgb: Rgb, noise: float, rough: float) -> None:
        height, width = rgb.shape[:2]
        self.step = _block_px(rgb)
        self.rows, self.columns = height // self.step, width // self.step
        core = rgb[: self.rows * self.step, : self.columns * self.step]
        self.means, deviations = _block_statistics(core, self.step)
        least = np.maximum(rough * self.means.max(axis=2), _ROUGH_PER_SIGMA * noise)
        self.flat: Flags = deviations <= least
        ring = np.ones((self.rows, self.columns), dtype=bool)
        ring[2:-2, 2:-2] = False
        bright = self.means.mean(axis=2)
        least = _DARKEST_PAPER * np.percentile(bright[ring], 95)
        self.ring = ring
        self.anchors: Flags = ring & self.flat & (bright >= least)

    def looks_photographed(self) -> bool:
        """Return whether paper lies all round, with uneven light."""
        if self.anchors.sum() < _RING_PAPER_SHARE * self.ring.sum():
            return False
        level = self.means.mean(axis=2)[self.anchors]
        return bool(np.percentile(level, 98) - np.percentile(level, 2) > _LEAST_SPREAD)

    def light(self) -> Floats | None:
        """Return log light (rows, columns, 3), paper in the best light at log 255, or None without a fit."""
        values = np.log(np.maximum(self.means, 1.0))
        same = [self._same_ink(values, axis) for axis in (0, 1)]
        paper = self.anchors
        light = values
        for _ in range(_ROUNDS):
            light = np.stack([self._solved(values[..., k], same, paper, k) for k in range(3)], axis=-1)
            paper = self.flat & (np.abs(values - light).max(axis=2) < _PAPER)
        left = np.abs(values - light).max(axis=2)[paper & self.ring]
        share = len(left) / max(int(self.ring.sum()), 1)
        if share < _RING_PAPER_SHARE or float(np.sqrt((left * left).mean())) > _MOST_RESIDUAL:
            return None
        return light

    def _same_ink(self, values: Floats, axis: int) -> Flags:
        """Return which neighbors along an axis may show one ink; a channel counts as far as it is bright."""
        bright = np.minimum(*shifted(self.means, axis, 2)) / 255.0
        ratio = np.diff(values, axis=axis) * np.minimum(2.0 * bright, 1.0)
        both: Flags = np.logical_and(*shifted(self.flat, axis, 2))
        both &= np.abs(ratio).max(axis=2) < _SAME_INK
        both &= ~_lone_steps(np.where(both[..., None], ratio, np.nan), axis)
        return both

    def _solved(self, values: Floats, same: list[Flags], paper: Flags, channel: int) -> Floats:
        """Solve for one channel's light: slopes inside inks, level on paper, little bending elsewhere."""
        weight = (self.means[..., channel] / 255.0) ** 2
        slopes: list[Tie] = [
            (axis, (-1.0, 1.0), np.where(one, np.minimum(*shifted(weight, axis, 2)), 0.0))
            for axis, one in enumerate(same)
        ]
        bends: list[Tie] = [(axis, (1.0, -2.0, 1.0), _BEND_WEIGHT) for axis in (0, 1)]
        level = np.where(paper, _PAPER_WEIGHT, 0.0)
        return solved(level + 1e-9, [*slopes, *bends], level * values + tied(values, slopes))


def _lone_steps(ratio: Floats, axis: int) -> Flags:
    """Return which ratios (rows, columns, 3), nan where unknown, lie far outside the two beside them."""
    edge = np.full_like(ratio.take([0], axis=axis), np.nan)
    before, after = shifted(ratio, axis, 2)
    previous, following = np.concatenate([edge, before], axis=axis), np.concatenate([after, edge], axis=axis)
    above = ratio - np.fmax(previous, following)
    below = np.fmin(previous, following) - ratio
    lone: Flags = (np.fmax(above, below) > _LONE_STEP).any(axis=2)
    return lone


def _block_statistics(core: Rgb, step: int) -> tuple[Floats, Floats]:
    """Return mean (rows, columns, 3) and greatest standard deviation (rows, columns) of each block."""
    rows, columns = core.shape[0] // step, core.shape[1] // step
    means = np.empty((rows, columns, 3))
    deviations = np.zeros((rows, columns))
    for channel in range(3):
        tall = core[..., channel].reshape(rows, step, columns, step)
        mean = tall.mean(axis=(1, 3), dtype=np.float64)
        square = (tall.astype(np.uint32) ** 2).mean(axis=(1, 3), dtype=np.float64)
        means[..., channel] = mean
        np.maximum(deviations, np.sqrt(np.maximum(square - mean * mean, 0.0)), out=deviations)
    return means, deviations


def _divided(rgb: Rgb, light: Floats, step: int) -> Rgb:
    height, width = rgb.shape[:2]
    gain = 255.0 * np.exp(-light)
    result = np.empty_like(rgb)
    tall, wide = -(-height // step), -(-width // step)
    for channel in range(3):
        grid = np.pad(
            gain[..., channel], ((0, tall - light.shape[0]), (0, wide - light.shape[1])), mode="edge"
        )
        full = Image.fromarray(grid.astype(np.float32)).resize(
            (wide * step, tall * step), Image.Resampling.BICUBIC
        )
        level = np.asarray(full)[:height, :width] * rgb[..., channel]
        np.clip(level + np.float32(0.5), 0.0, 255.0, out=level)
        result[..., channel] = level
    return result
