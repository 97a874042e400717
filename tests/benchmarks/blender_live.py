"""What the artist waits for, in every prepared Blender: `python tests/benchmarks/blender_live.py`.

Builds the zip, draws the kite at 4 megapixels, and measures in a process of each Blender: live edits of
height, border and hole from the changed setting to the updated view, upload included, and the steps of what
follows; the steps of a fresh run after imports; how long Esc waits. Ends with 1 if a limit is passed.
Options narrow it.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "addon"))

import check  # noqa: E402 - found beside the add-on

MEGAPIXELS = 4.0
LIMITS_MS = {
    "height": 100.0,
    "border": 500.0,
    "hole": 500.0,
    "height, hand": 100.0,
    "height, skin": 100.0,
}
"""For the 95th percentile of the edits; the last two with hand relief, without and with a skin."""
HAND_MS = {"preparing": 300.0, "taking over": 1500.0}
"""For a skin of VERTICES; taken in proportion to those that there are."""
VERTICES = 17_000
LONG_MS, LONG_SHARE, LONGEST_MS = 100.0, 0.10, 300.0
"""Steps over the first add up to at most the second of the run; none is longer than the third."""
ESC_MS = 50.0
"""Esc is obeyed within the longest step and this."""
LIMIT_S = 1800


@dataclass(frozen=True)
class Row:
    """One line of the table."""

    what: str
    value: float
    limit: float
    words: str

    @property
    def holds(self) -> bool:
        return self.value <= self.limit


def sample(name: str, folder: Path) -> Path:
    """Write a sample enlarged or reduced to 4 megapixels."""
    with Image.open(ROOT / "samples" / name) as image:
        factor = (MEGAPIXELS * 1e6 / (image.width * image.height)) ** 0.5
        size = (round(image.width * factor), round(image.height * factor))
        path = folder / f"{Path(name).stem}.png"
        image.resize(size, Image.Resampling.LANCZOS).save(path, compress_level=1)
    return path


def measured(version: str, zip_path: Path, picture: Path, edits: int, clock: str = "wall") -> dict[str, Any]:
    """Measure in a process of one Blender, by the "wall" clock or that of the "processor"."""
    out = picture.with_suffix(f".{version}.json")
    inside = Path(__file__).with_name("blender_live_inside.py")
    small = ROOT / "samples" / "lantern.png"
    command = [check.python_in(version), "-I", inside, zip_path, small, picture, edits, out, clock]
    done = subprocess.run(
        [str(word) for word in command], check=False, capture_output=True, text=True, timeout=LIMIT_S
    )
    if not out.exists():
        raise SystemExit(f"Blender {version}:\n{done.stdout[-3000:]}{done.stderr[-3000:]}")
    return json.loads(out.read_text(encoding="utf-8"))


def rows(found: dict[str, Any]) -> list[Row]:
    """Judge what was measured by the limits."""
    table = []
    for name, limit in LIMITS_MS.items():
        took, own = sorted(found["edits"][name]["took"]), found["edits"][name]["own"]
        p95 = took[min(len(took) - 1, -(-95 * len(took) // 100) - 1)]
        middle = statistics.median(took)
        after = statistics.median(found["edits"][name]["all"])
        words = (
            f"middle {middle:.0f}, longest {took[-1]:.0f}; add-on's own middle {statistics.median(own):.0f};"
            f" findings after {after:.0f}"
        )
        table.append(Row(f"{name}, 95th percentile (ms)", p95, limit, words))
        longest = sorted(found["edits"][name]["longest"])
        words = f"middle {statistics.median(longest):.0f}"
        table.append(Row(f"{name}, longest step (ms)", longest[-1], LONGEST_MS, words))
    share = found["hand"]["vertices"] / VERTICES
    for name, limit in HAND_MS.items():
        words = f"{found['hand']['vertices']} vertices, {found['hand'][name]:.0f} in all"
        table.append(Row(f"{name}, 17,000 vertices (ms)", found["hand"][name] / share, limit, words))
    times = [took for took, _ in found["steps"]]
    whole, longest = sum(times), max(times)
    slow = sorted((item for item in found["steps"] if item[0] > LONG_MS), reverse=True)
    words = ", ".join(f"{name} {took:.0f}" for took, name in slow[:3])
    share = 100 * sum(took for took, _ in slow) / whole
    table.append(Row("steps over 100 ms (% of run)", share, 100 * LONG_SHARE, words))
    name = max(found["steps"])[1]
    table.append(
        Row("longest step (ms)", longest, LONGEST_MS, f"{name}; run {whole:.0f} in {len(times)} steps")
    )
    wait = max(found["slices"]) + max(found["stops"])
    words = f"stopping itself {max(found['stops']):.1f}, upload {found['upload']:.0f}"
    table.append(Row("Esc obeyed after (ms)", wait, longest + ESC_MS, words))
    table.append(Row("scenes touched by Esc", float(not found["untouched"]), 0.0, ""))
    return table


def main() -> None:
    """Measure and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--blender", action="append", choices=list(check.BLENDERS))
    parser.add_argument("--picture", default="kite.png", help="a file of samples/")
    parser.add_argument("--edits", type=int, default=50, help="of each kind")
    parser.add_argument(
        "--clock",
        choices=("wall", "processor"),
        default="wall",
        help="processor: where other work runs beside",
    )
    given = parser.parse_args()
    versions = given.blender or [version for version in check.BLENDERS if check.is_ready(version)]
    over = 0
    with tempfile.TemporaryDirectory() as place:
        zip_path = check.built(Path(place) / "zip", versions)
        picture = sample(given.picture, Path(place))
        for version in versions:
            found = measured(version, zip_path, picture, given.edits, given.clock)
            head = f"Blender {found['version']}, {picture.stem} at {MEGAPIXELS:g} megapixels"
            words = f"{given.edits} edits of each kind, {given.clock} clock"
            print(f"{head}, {found['vertices']} vertices, {words}", flush=True)
            for row in rows(found):
                over += not row.holds
                mark = "" if row.holds else "OVER"
                print(
                    f"  {row.what:30} {row.value:8.1f} <= {row.limit:6.1f} {mark:4} {row.words}", flush=True
                )
    raise SystemExit(1 if over else 0)


if __name__ == "__main__":
    main()
