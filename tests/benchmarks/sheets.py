"""Sheets found in photographs, and in pictures without one: `python tests/benchmarks/sheets.py`.

Makes photographs of sheets (sheetphotos.py), whose corners are known, and looks for them; then pictures
without a whole sheet, in which nothing may be found. `--held-out` takes other pictures, which are not to be
looked at before a change is done. `--count` photographs are made; `--show FOLDER` keeps what is wrong or not
answered, outlined.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw
from skimage import data

sys.path.insert(0, str(Path(__file__).parents[1]))

from reliefsmith.artwork.sheet.search import find_sheet
from reliefsmith.artwork.sheet.seek import may_be_photographed
from sheetphotos import developed, page_picture, photograph

HELD_OUT = 10_000
"""Seed of the first picture that is held out."""
WRONG = 0.005
"""Share of the diagonal that a corner may be off."""
SCENES = (
    *(
        "astronaut",
        "brick",
        "camera",
        "cell",
        "chelsea",
        "coffee",
        "coins",
        "grass",
        "gravel",
        "hubble_deep_field",
    ),
    *("immunohistochemistry", "moon", "motorcycle", "page", "retina", "rocket", "text", "clock"),
)
"""Photographs and scans that come with scikit-image; none shows a whole sheet."""


def off_px(found: np.ndarray, true: np.ndarray) -> float:
    """Return how far the worst corner is off, whichever corner comes first."""
    return min(float(np.linalg.norm(np.roll(found, turn, axis=0) - true, axis=1).max()) for turn in range(4))


def looked_at(seed: int) -> tuple[str, float | None, float, float]:
    """Return a photograph's table, how far its found corners are off, its diagonal, and the time it took."""
    photo = photograph(seed)
    rgb = np.asarray(photo.image)
    start = time.process_time()
    found = find_sheet(rgb)
    taken = time.process_time() - start
    off = None if found is None else off_px(found.corners, photo.corners)
    return photo.about["table"], off, float(np.hypot(*photo.image.size)), taken


def without_sheet(first: int) -> Iterator[tuple[str, Callable[[], Image.Image]]]:
    """Yield names and makers of pictures without a whole sheet."""
    for at, name in enumerate(SCENES):
        for part in range(3):
            yield f"{name} {part}", partial(developed_part, name, part, first + at)
    for seed in range(first, first + 24):
        yield f"table {seed}", partial(_photo, seed, sheet=False)
    for seed in range(first + 30, first + 46):
        yield f"page fills {seed}", partial(_photo, seed, fill=1.5)
    for seed in range(first + 50, first + 60):
        yield f"drawing {seed}", partial(_drawing, seed)
        yield f"screenshot {seed}", partial(_screenshot, seed)


def _photo(seed: int, **how) -> Image.Image:
    return photograph(seed, **how).image.convert("RGB")


def developed_part(name: str, part: int, seed: int) -> Image.Image:
    """Return one of scikit-image's pictures, whole or a part of it, as a JPEG of 3 megapixels."""
    whole = getattr(data, "stereo_motorcycle" if name == "motorcycle" else name)()
    image = Image.fromarray(whole[0] if isinstance(whole, tuple) else whole).convert("RGB")
    lot = np.random.default_rng(seed + part)
    if part:
        width, height = (round(side * lot.uniform(0.5, 0.8)) for side in image.size)
        left, top = (
            round(lot.uniform(0, side - new)) for side, new in zip(image.size, (width, height), strict=True)
        )
        image = image.crop((left, top, left + width, top + height))
    scale = (3e6 / (image.size[0] * image.size[1])) ** 0.5
    image = image.resize(
        (round(image.size[0] * scale), round(image.size[1] * scale)), Image.Resampling.BICUBIC
    )
    kept = developed(np.asarray(image, dtype=np.float32), lot, {"blur": 0.4, "noise": 1.5, "quality": 80})
    return kept.convert("RGB")


def _page(lot: np.random.Generator) -> Image.Image:
    about = {"grass": lot.random() < 0.5, "border": lot.random() < 0.5}
    return Image.fromarray(np.uint8(page_picture(lot, (210.0, 297.0), about)))


def _drawing(seed: int) -> Image.Image:
    return _page(np.random.default_rng(seed))


def _screenshot(seed: int) -> Image.Image:
    """Return a page of bars and lines of text about a photograph or a drawing."""
    lot = np.random.default_rng(seed)
    screen = Image.new("RGB", (1080, 2160), (250, 250, 250) if seed % 2 else (24, 26, 30))
    draw = ImageDraw.Draw(screen)
    draw.rectangle([0, 0, 1080, 160], fill=(40, 90, 160))
    item = _page(lot) if seed % 3 else Image.fromarray(data.chelsea())
    screen.paste(item.resize((900, 900)), (90, 360))
    for row in range(1400, 2050, 60):
        draw.rectangle([90, row, 90 + int(lot.integers(300, 900)), row + 26], fill=(120, 120, 125))
    return screen


def answered(maker: tuple[str, Callable[[], Image.Image]]) -> tuple[str, bool, bool]:
    """Return a picture's name, whether it is photographed, and whether a sheet was found in it."""
    name, make = maker
    image = make()
    photographed = may_be_photographed(image)
    return name, photographed, photographed and find_sheet(np.asarray(image)) is not None


def _kept(seed: int, folder: Path) -> None:
    photo = photograph(seed)
    image = photo.image.convert("RGB")
    found = find_sheet(np.asarray(image))
    for corners, color in ((photo.corners, "lime"), (None if found is None else found.corners, "red")):
        if corners is not None:
            line = [tuple(corner) for corner in corners]
            ImageDraw.Draw(image).line([*line, line[0]], fill=color, width=4)
    folder.mkdir(parents=True, exist_ok=True)
    image.save(folder / f"{seed}.jpg")


def main() -> None:
    """Print how many are answered, right, and how near."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--held-out", action="store_true")
    words.add_argument("--count", type=int, default=150)
    words.add_argument("--jobs", type=int, default=1)
    words.add_argument("--show", type=Path)
    given = words.parse_args()
    first = HELD_OUT if given.held_out else 0
    with ProcessPoolExecutor(given.jobs) as pool:
        seen = list(pool.map(looked_at, range(first, first + given.count)))
        none = list(pool.map(answered, without_sheet(first)))
    offs = [off for _, off, diagonal, _ in seen if off is not None and off <= WRONG * diagonal]
    wrong = [
        first + at
        for at, (_, off, diagonal, _) in enumerate(seen)
        if off is not None and off > WRONG * diagonal
    ]
    print(f"photographs {len(seen)}: answered {len(offs) + len(wrong)}, wrong {len(wrong)} {wrong}")
    print(
        "worst corner in px: " + ", ".join(f"{p} % {np.percentile(offs, p):.2f}" for p in (50, 75, 90, 100))
    )
    print(f"time of the processor: {np.mean([taken for *_, taken in seen]):.2f} s each")
    for table, count in Counter(table for table, *_ in seen).items():
        right = sum(
            off is not None and off <= WRONG * diagonal for kind, off, diagonal, _ in seen if kind == table
        )
        print(f"  {table:14s} {right} of {count}")
    false = [name for name, _, found in none if found]
    asked = sum(photographed for _, photographed, _ in none)
    print(f"without a sheet {len(none)}, {asked} of them photographed: answered {len(false)} {false}")
    if given.show:
        unanswered = [first + at for at, (_, off, *_) in enumerate(seen) if off is None]
        for seed in wrong + unanswered:
            _kept(seed, given.show)


if __name__ == "__main__":
    main()
