"""Draw the sample artworks of the invented Larkwater Kite Day: `python samples/draw.py`.

The same bytes come out on every run: all curves are computed, and the grain has a fixed seed.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import numpy.typing as npt
from PIL import Image

import heron
import kite
import lantern
from pen import Drawing, rasterize

_HERE = Path(__file__).resolve().parent
_GRAIN_SEED = 20
_JPEG_QUALITY = 70


def _with_alpha(drawing: Drawing) -> Image.Image:
    """Return the art on a transparent ground; colors under partial cover are the art's own."""
    shares = rasterize(drawing)
    art = shares[..., 1:]
    cover = art.sum(axis=2, keepdims=True)
    rgb = (art @ drawing.colors()[1:]) / np.maximum(cover, 1e-9)
    return Image.fromarray(np.dstack([_bytes(rgb), _bytes(255 * cover)]))


def _opaque(drawing: Drawing) -> npt.NDArray[np.float64]:
    """Return the picture (h, w, 3) on its ground, 0 to 255."""
    return np.einsum("hwk,kc->hwc", rasterize(drawing), drawing.colors())


def _bytes(values: npt.NDArray[np.float64]) -> npt.NDArray[np.uint8]:
    return np.clip(np.rint(values), 0, 255).astype(np.uint8)


def _on_paper(drawing: Drawing) -> Image.Image:
    """Return the picture as ink on paper: soft edges, mild grain of the paper, noise of a sensor."""
    picture = _opaque(drawing)
    h, w, _ = picture.shape
    noise = np.random.Generator(np.random.PCG64(_GRAIN_SEED))
    coarse = noise.normal(0, 1, (h // 6 + 2, w // 6 + 2))
    grain = np.asarray(Image.fromarray(coarse.astype(np.float32)).resize((w, h), Image.Resampling.BICUBIC))
    picture += 2.2 * grain[..., None] + noise.normal(0, 2.6, picture.shape)
    soft = np.pad(picture, ((1, 1), (1, 1), (0, 0)), mode="edge")
    for axis in (0, 1):
        n = soft.shape[axis]
        a, b, c = (np.take(soft, range(i, n - 2 + i), axis=axis) for i in range(3))
        soft = 0.2 * a + 0.6 * b + 0.2 * c
    return Image.fromarray(_bytes(soft))


def main(folder: Path = _HERE) -> None:
    """Write the three pictures into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    _with_alpha(kite.draw()).save(folder / "kite.png", optimize=True)
    _on_paper(heron.draw()).save(folder / "heron.jpg", quality=_JPEG_QUALITY, subsampling=2)
    Image.fromarray(_bytes(_opaque(lantern.draw()))).save(folder / "lantern.png", optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else _HERE)
