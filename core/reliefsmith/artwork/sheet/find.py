"""The four corners of a sheet of paper in a photograph, where they are sure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image
from skimage.filters import gaussian

from ...chroma import srgb_to_lab
from .outlines import outlines
from .sides import Evidence, evidence, moved

Floats = npt.NDArray[np.float64]

_WORK_PX = 480


def small(image):
    factor = max(max(image.size) // (2 * _WORK_PX), 1)
    part = image.reduce(factor)
    scale = _WORK_PX / max(part.size)
    size = tuple(max(round(side * scale), 1) for side in part.size)
    part = part.resize(size, Image.Resampling.BILINEAR)
    lab = srgb_to_lab(np.asarray(part).reshape(-1, 3)).reshape(*size[::-1], 3)
    return gaussian(lab, 1.0, channel_axis=-1)


def rank(found: Evidence, quads, size):
    weak = found.support.min(-1)
    area = _area(quads) / (size[0] * size[1])
    paper = np.sort(found.paper, -1)
    paper = np.maximum(0.85 - paper[:, 1], 0) + .5 * np.maximum(0.85 - paper[:, 0], 0)
    darker = np.sort(np.where(found.paper > .5, found.lighter, 0), -1)[:, 0] < -1
    return .8 * weak + found.support.mean(-1) + .25 * np.clip(found.lighter.mean(-1) / 25, -1, 1) + .35 * np.minimum(1, area / .4) - 2 * paper - .8 * found.beyond.mean(-1) - darker


def _area(quads):
    x, y = quads[..., 0], quads[..., 1]
    return (x * np.roll(y, -1, -1) - y * np.roll(x, -1, -1)).sum(-1) / 2


def candidates(lab):
    quads = outlines(lab)
    size = lab.shape[1::-1]
    if not len(quads):
        return quads, None, None
    found = evidence(lab, quads)
    order = np.argsort(-rank(found, quads, size))[:8]
    quads, found = quads[order], None
    for _ in range(2):
        found = evidence(lab, quads)
        quads = moved(quads, found.bows)
    found = evidence(lab, quads)
    score = rank(found, quads, size)
    order = np.argsort(-score)
    return quads[order], Evidence(*(getattr(found, n)[order] for n in ("bows", "support", "paper", "beyond", "lighter"))), score[order]
