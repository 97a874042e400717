"""What pictures cost that are hard to plan: photographs, textures, dithers, codes, halftones, lines, stripes.

`python tests/benchmarks/intricate.py` makes all of them, runs `make` on each in a process of its own, and
prints what each costs in times of the lantern sample, the dearest first. `--only` narrows it, `--kept FILE`
keeps a line of JSON a picture and passes over those it holds, so that it can go on after a stop. Photographs
come with scikit-image, open artworks from openart.py.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1]))

from intricate_art import (
    checkers,
    code,
    dithered,
    halftone,
    land,
    open_art,
    photo,
    posterised,
    rings,
    speckle,
    staves,
    stripes,
)

import openart

SAMPLES = Path(__file__).parents[2] / "samples"
CAP_S = 120
"""Processor time after which a picture is given up."""

PHOTOS = (
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
    "ihc",
    "moon",
    "motorcycle_left",
    "page",
    "retina",
    "rocket",
    "text",
    "clock_motion",
)
WIDTHS = (30, 60, 90, 150)
OPEN_SOURCES = (openart.FLUENT, openart.NOTO, openart.FX, openart.CIRCLES, openart.FLAGS, openart.MAKI)
OPEN_EACH = 40


@dataclass(frozen=True)
class Picture:
    """A name, how it is drawn, and options of the command."""

    name: str
    draw: Callable[[], Image.Image]
    options: tuple[str, ...] = ()


@dataclass(frozen=True)
class Cost:
    """What one run took in seconds of processor time, its exit status (-1: given up) and last words."""

    seconds: float
    status: int
    words: str


def photographs() -> Iterator[Picture]:
    for name in PHOTOS:
        for longest, crop, colors in (
            (150, 1.0, 0),
            (400, 0.5, 0),
            (512, 1.0, 0),
            (300, 1.0, 4),
            (512, 0.6, 8),
            (150, 0.4, 6),
        ):

            def draw(
                name: str = name, longest: int = longest, crop: float = crop, colors: int = colors
            ) -> Image.Image:
                image = photo(name, longest, crop)
                return posterised(image, colors) if colors else image

            yield Picture(f"photo-{name}-{longest}-{crop:g}-{colors}", draw)
        yield Picture(f"poster-{name}-1100-8", lambda name=name: posterised(photo(name, 1100), 8))
        yield Picture(f"dither-{name}-128", lambda name=name: dithered(photo(name, 128)))
        yield Picture(f"dither-{name}-300", lambda name=name: dithered(photo(name, 300)))
        yield Picture(f"halftone-{name}", lambda name=name: halftone(photo(name, 300), 8, 12))


def patterns() -> Iterator[Picture]:
    for pitch in (2, 3, 4, 6, 8, 12, 20):
        for wide, high in ((128, 64), (300, 200), (700, 500)):
            yield Picture(f"stripes-{pitch}-{wide}", lambda p=pitch, w=wide, h=high: stripes(p, w, h))
        yield Picture(f"slant-{pitch}", lambda p=pitch: stripes(p, 240, 160, slant=0.4))
        yield Picture(f"waves-{pitch}", lambda p=pitch: stripes(p, 240, 160, waves=3))
        yield Picture(f"stripes-{pitch}-at-150", lambda p=pitch: stripes(p, 128, 64), ("--width", "150"))


def cells_and_lines() -> Iterator[Picture]:
    """Yield checkerboards, speckle, codes and staves."""
    for cell, count in ((1, 100), (2, 64), (4, 32), (8, 16), (8, 40), (16, 8), (4, 100), (10, 60)):
        yield Picture(f"checkers-{cell}-{count}", lambda a=cell, b=count: checkers(a, b))
    for side in (64, 150, 400):
        for share in (0.05, 0.2, 0.5):
            for blur in (0.0, 1.0, 2.5):
                yield Picture(
                    f"speckle-{side}-{share}-{blur}", lambda a=side, b=share, c=blur: speckle(a, b, c, 3)
                )
    for cells, scale in (
        (21, 4),
        (21, 12),
        (29, 8),
        (37, 8),
        (45, 6),
        (57, 6),
        (77, 6),
        (97, 5),
        (117, 4),
        (177, 4),
    ):
        yield Picture(f"code-{cells}-{scale}", lambda a=cells, b=scale: code(a, b, 5))
    for systems, notes in ((1, 12), (2, 16), (4, 20), (6, 30), (10, 30)):
        yield Picture(f"staves-{systems}", lambda a=systems, b=notes: staves(a, b, 900, 2))


def maps() -> Iterator[Picture]:
    """Yield maps and rings."""
    for colors in (2, 4, 8):
        for rough in (1.1, 1.5, 2.0):
            for side in (200, 600):
                yield Picture(
                    f"land-{colors}-{rough}-{side}", lambda a=side, b=colors, c=rough: land(a, b, c, 4)
                )
    for count in (4, 16, 40, 80):
        yield Picture(f"rings-{count}", lambda a=count: rings(a, 500))


def drawings() -> Iterator[Picture]:
    """Yield open artworks by even steps through the sorted names, at all widths in turn."""
    for source in OPEN_SOURCES:
        every = openart.pictures(source)
        names = list(every)
        for number in range(OPEN_EACH):
            name = names[number * len(names) // OPEN_EACH]
            options = ("--width", str(WIDTHS[number % len(WIDTHS)]))
            yield Picture(
                f"open-{source.package.split('/')[-1]}-{name}", open_art(name, *every[name]), options
            )


def samples() -> Iterator[Picture]:
    for path in sorted([*SAMPLES.glob("*.png"), *SAMPLES.glob("*.jpg")]):
        yield Picture(f"sample-{path.stem}", lambda path=path: Image.open(path))


EVERY = (samples, patterns, cells_and_lines, maps, photographs, drawings)


def cost_of(picture: Path, options: tuple[str, ...] = (), cap: float = CAP_S) -> Cost:
    """Run `make` on a picture in a process of its own, within a cap of processor time."""

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(cap), math.ceil(cap) + 1))

    with tempfile.TemporaryDirectory() as target:
        line = [
            sys.executable,
            "-m",
            "reliefsmith",
            "make",
            str(picture),
            "-o",
            f"{target}/set",
            *options,
            "--quiet",
        ]
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(line, capture_output=True, text=True, preexec_fn=limited, check=False)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
    seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    words = (done.stderr.strip().splitlines() or [""])[-1]
    return Cost(seconds, -1 if done.returncode < 0 else done.returncode, words)


def saved(picture: Picture, folder: Path) -> Path:
    path = folder / f"{picture.name}.png"
    if not path.exists():
        picture.draw().save(path)
    return path


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", help="pictures whose name contains one of these, parted by commas")
    parser.add_argument("--kept", type=Path, help="file that holds a line of JSON a picture")
    parser.add_argument("--every", type=int, default=1, help="each n-th picture")
    parser.add_argument("--cap", type=float, default=CAP_S)
    parser.add_argument("--worst", type=int, default=20)
    options = parser.parse_args()
    every = [picture for group in EVERY for picture in group()]
    if options.only:
        every = [
            picture for picture in every if any(part in picture.name for part in options.only.split(","))
        ]
    lantern = min(cost_of(SAMPLES / "lantern.png").seconds for _ in range(3))
    kept: Path | None = options.kept
    rows = [json.loads(line) for line in kept.read_text().splitlines()] if kept and kept.exists() else []
    names = {row["name"] for row in rows}
    with tempfile.TemporaryDirectory() as folder:
        for picture in every[:: options.every]:
            if picture.name in names:
                continue
            cost = cost_of(saved(picture, Path(folder)), picture.options, options.cap)
            ratio = round(cost.seconds / lantern, 2)
            rows.append({"name": picture.name, "ratio": ratio, "status": cost.status, "words": cost.words})
            if kept:
                with kept.open("a") as file:
                    file.write(json.dumps(rows[-1]) + "\n")
    print(f"{len(rows)} pictures; lantern {lantern:.2f} s")
    for row in sorted(rows, key=lambda row: -row["ratio"])[: options.worst]:
        words = row["words"] if row["status"] not in (0, 1) else ""
        print(f"{row['ratio']:6.1f} x  exit {row['status']:2}  {row['name']:36} {words}")


if __name__ == "__main__":
    main()
