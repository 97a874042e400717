"""Time and memory of areas against honest compositions of general-purpose libraries, as ratios in one run.

`python tests/benchmarks/speed_areas.py`. Each measurement runs in a process of its own, imports done before
the clock starts, from the picture file to one polygon a color. The baselines are told the number of colors,
fit their clusters on a sample of the pixels and give every pixel to the nearest, as a careful user would.
Pictures are truecolor and palette files. At the end stand the growth of our time with the picture, and our
peak.

(a) scipy k-means, scikit-image find_contours for each color, shapely;
(b) OpenCV k-means, OpenCV findContours for each color, shapely.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

MEGAPIXELS = (0.6, 4.0, 12.0, 48.0)
SAMPLE = 100_000
"""Pixels that the baselines fit their clusters on."""
KINDS = ("true", "palette")
BETWEEN = "import subprocess, sys; sys.exit(subprocess.call(sys.argv[1:]))"
"""A small parent: the peak memory of a process begins at that of the one it was forked from."""
GROWTH_FROM = 4.0
"""Megapixels by whose time the growth is told."""
TOLERANCE_PX = 0.5
"""Line simplification of the baselines, in pixels."""

ARTS = {2: ("fluent-emoji-flat", "peanuts"), 4: ("fluent-emoji-flat", "zebra"), 8: ("fxemoji", "hospital")}


def draw(colors: int, megapixels: float, folder: Path, *, palette: bool = False) -> Path:
    """Render an open artwork of about the given size on grey paper."""
    sys.path.insert(0, str(Path(__file__).parents[1]))
    import openart

    package, name = ARTS[colors]
    source = openart.FLUENT if package.startswith("fluent") else openart.FX
    art = openart.load(source, name)
    assert art is not None
    longest = round((megapixels * 1e6) ** 0.5)
    page, matrix = openart.placed(art, longest, 0.06)
    image = openart.drawn(art, page, matrix, "#b8b8b8")
    if palette:
        image = image.quantize(64)
    path = folder / f"{colors}-{megapixels:g}-{'palette' if palette else 'true'}.png"
    image.save(path, compress_level=1)
    return path


def ours(path: Path, _colors: int) -> Callable[[], int]:
    import reliefsmith.areas
    import reliefsmith.artwork
    import reliefsmith.color
    from reliefsmith.walk.pipeline import find_areas

    assert reliefsmith.areas
    assert reliefsmith.artwork
    assert reliefsmith.color
    return lambda: len(find_areas(path).polygons)


def scikit(path: Path, colors: int) -> Callable[[], int]:
    import shapely
    from PIL import Image
    from scipy.cluster.vq import kmeans2, vq
    from skimage.measure import find_contours

    def run() -> int:
        pixels = np.asarray(Image.open(path).convert("RGB"))
        height, width = pixels.shape[:2]
        flat = pixels.reshape(-1, 3).astype(np.float32)
        picked = np.random.default_rng(1).choice(len(flat), min(SAMPLE, len(flat)), replace=False)
        centers, _ = kmeans2(flat[picked], colors + 1, minit="++", seed=1)
        labels = vq(flat, centers)[0].reshape(height, width)
        shapes = []
        for label in range(1, colors + 1):
            mask = np.pad((labels == label).astype(np.float32), 1)
            rings = [ring for ring in find_contours(mask, 0.5) if len(ring) > 3]
            shapes.append(_even_odd(shapely, [ring[:, ::-1] for ring in rings]))
        return len(shapes)

    return run


def opencv(path: Path, colors: int) -> Callable[[], int]:
    import cv2
    import shapely

    def run() -> int:
        pixels = cv2.imread(str(path), cv2.IMREAD_COLOR)
        height, width = pixels.shape[:2]
        flat = pixels.reshape(-1, 3).astype(np.float32)
        picked = np.random.default_rng(1).choice(len(flat), min(SAMPLE, len(flat)), replace=False)
        cv2.setRNGSeed(1)
        stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.5)
        _, _, centers = cv2.kmeans(flat[picked], colors + 1, None, stop, 3, cv2.KMEANS_PP_CENTERS)
        best = np.full(len(flat), np.inf, dtype=np.float32)
        labels = np.zeros(len(flat), dtype=np.uint8)
        for index, center in enumerate(centers):
            distance = ((flat - center) ** 2).sum(axis=1)
            nearer = distance < best
            best[nearer], labels[nearer] = distance[nearer], index
        shapes = []
        for label in range(1, colors + 1):
            mask = (labels == label).astype(np.uint8).reshape(height, width)
            rings, _ = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
            shapes.append(_even_odd(shapely, [ring[:, 0, :] for ring in rings if len(ring) > 3]))
        return len(shapes)

    return run


def _even_odd(shapely: object, rings: list[np.ndarray]) -> object:
    """Return simplified valid polygons of the rings by the even-odd rule."""
    lines = shapely.linearrings(
        np.vstack(rings).astype(float), indices=np.repeat(np.arange(len(rings)), [len(r) for r in rings])
    )
    simple = shapely.simplify(lines, TOLERANCE_PX)
    return shapely.make_valid(shapely.MultiPolygon([shapely.Polygon(ring) for ring in simple]))


METHODS = {"ours": ours, "scikit-image": scikit, "opencv": opencv}


def child(method: str, path: Path, colors: int, repeats: int) -> None:
    """Measure one method and print the best time, the added peak memory and the peak."""
    run = METHODS[method](path, colors)
    idle = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    times, work = [], []
    for _ in range(repeats):
        begin, begin_work = time.perf_counter(), time.process_time()
        found = run()
        times.append(time.perf_counter() - begin)
        work.append(time.process_time() - begin_work)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        json.dumps(
            {"seconds": min(times), "cpu": min(work), "peak_mb": peak, "idle_mb": idle, "found": found}
        )
    )


def measure(method: str, path: Path, colors: int, repeats: int) -> dict:
    command = [
        sys.executable,
        "-S",
        "-E",
        "-c",
        BETWEEN,
        sys.executable,
        __file__,
        "--child",
        method,
        str(path),
        str(colors),
        str(repeats),
    ]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return json.loads(done.stdout.splitlines()[-1])


def row(path: Path, colors: int, megapixels: float, kind: str) -> dict:
    """Measure all methods on a picture, print the line of it, and return what ours took."""
    # Ours three times at every size, so that growth compares warm runs; the baselines take minutes.
    times = {method: 3 if method == "ours" or megapixels <= GROWTH_FROM else 1 for method in METHODS}
    own, one, two = (measure(method, path, colors, times[method]) for method in METHODS)
    print(
        f"{kind:8} {colors:6} {megapixels:5.1f} {own['seconds']:8.2f} "
        f"{one['seconds']:6.2f} {two['seconds']:6.2f} "
        f"{own['seconds'] / one['seconds']:9.2f} {own['seconds'] / two['seconds']:6.2f} "
        f"{own['cpu']:9.2f} {one['cpu']:6.2f} {two['cpu']:6.2f} "
        f"{own['peak_mb']:14.0f} {one['peak_mb']:13.0f} {two['peak_mb']:7.0f}",
        flush=True,
    )
    return own


def print_growth(found: dict[tuple[str, int], dict[float, dict]]) -> None:
    """Print how the work of ours grows with the picture, by that at 4 megapixels, and its peak memory."""
    print("\ngrowth of ours: seconds of work (by those at 4 megapixels), peak MB")
    for (kind, colors), by_size in found.items():
        whole = by_size.get(GROWTH_FROM, {}).get("cpu")
        cells = [
            f"{megapixels:g} MP {own['cpu']:.2f}"
            + (f" ({own['cpu'] / whole:.2f})" if whole else "")
            + f", {own['peak_mb']:.0f}"
            for megapixels, own in by_size.items()
        ]
        print(f"  {kind:8} {colors} colors: " + "; ".join(cells))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--child", nargs=4, metavar=("METHOD", "PATH", "COLORS", "REPEATS"))
    parser.add_argument("--megapixels", type=float, action="append")
    parser.add_argument("--colors", type=int, action="append", choices=sorted(ARTS))
    parser.add_argument("--kind", action="append", choices=KINDS, help="of the PNG files; both by default")
    options = parser.parse_args()
    if options.child:
        method, path, colors, repeats = options.child
        child(method, Path(path), int(colors), int(repeats))
        return
    print(
        "kind     colors  MP   seconds: ours  (a)  (b)  ratios to them  CPU: ours  (a)  (b)  "
        "peak MB: ours  (a)  (b)"
    )
    found: dict[tuple[str, int], dict[float, dict]] = {}
    with tempfile.TemporaryDirectory() as folder:
        for kind in options.kind or KINDS:
            for colors in options.colors or sorted(ARTS):
                for megapixels in options.megapixels or MEGAPIXELS:
                    path = draw(colors, megapixels, Path(folder), palette=kind == "palette")
                    own = row(path, colors, megapixels, kind)
                    found.setdefault((kind, colors), {})[megapixels] = own
                    path.unlink()
    print_growth(found)


if __name__ == "__main__":
    main()
