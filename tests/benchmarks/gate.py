"""Whether a change of colors or areas loses anything: accuracy's rows, old against new, same pictures.

`gate.py save FOLDER --seed N` draws the pictures once: a few of each row of accuracy.py, and as many held
out, drawn by lot with that seed (take a fresh one for each change). `gate.py run FOLDER --name old` measures
them with the code that is imported, `gate.py compare FOLDER old new` shows each row's count right, mean and
lowest IoU, and exits with 1 where a row of either kind lost a right count or more than .0005 of mean IoU.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import pickle
import resource
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).parents[1]))

from accuracy import PASSED_ON, VARIANTS, WILD, measure

from openart import OpenArt, artworks, by_lot
from reliefsmith import ReliefsmithError
from reliefsmith.walk.pipeline import find_areas
from reliefsmith.walk.store import MemoryStore

FEW = {
    "alpha": 3,
    "paper": 4,
    "jpeg": 4,
    "resaved": 2,
    "photo": 1,
    "tiny": 8,
    "thumbnail-jpeg": 6,
    "chat-jpeg": 8,
    "small-jpeg": 6,
    "small-webp": 4,
    "blocks": 2,
    "blown": 2,
    "blown-jpeg": 3,
    "sharpened": 2,
    "sharpened-jpeg": 2,
    "shadow": 3,
    "shadow-alpha": 2,
    "shadow-jpeg": 3,
    "shaded": 2,
    "shaded-jpeg": 2,
    "light": 1,
    "lettering": 2,
    "lettering-jpeg": 4,
    "hand-drawn": 2,
    "hand-drawn-jpeg": 4,
    "rays": 4,
    "rays-jpeg": 6,
}
"""Pictures of each row; rows that are not named are left out, as alpha and large follow paper."""

MOST_LOST = 0.0005
"""Of a row's mean IoU that a change may lose."""


def save(folder: Path, seed: int, times: int) -> None:
    """Draw the pictures of all rows, those held out too, and what is true of them."""
    rows = {variant.name: variant for variant in (*VARIANTS, *PASSED_ON, *WILD)}
    chosen, lot = artworks(), by_lot(seed)
    random = np.random.default_rng(seed)
    pictures = []
    for name, few in FEW.items():
        variant, wanted = rows[name], few * times
        if variant.draw is not None:
            own = [variant.draw(0, number) for number in range(wanted)]
            held = [variant.draw(seed, number) for number in range(wanted)]
        else:
            step = max(len(chosen) // wanted, 1)
            own = [chosen[k] for k in range(0, len(chosen), step)]
            held = [lot[k] for k in random.permutation(len(lot))]
        for kind, arts in (("own", own), ("held", held)):
            pictures += _saved(folder, (name, kind), arts, wanted)
    (folder / "pictures.pickle").write_bytes(pickle.dumps(pictures))
    print(f"{len(pictures)} pictures")


def _saved(folder: Path, row: tuple[str, str], arts: list[OpenArt], wanted: int) -> list[tuple]:
    """Draw the first artworks that the row takes."""
    variant = next(one for one in (*VARIANTS, *PASSED_ON, *WILD) if one.name == row[0])
    found: list[tuple] = []
    for art in arts:
        if len(found) == wanted:
            break
        place = folder / "-".join(row) / str(len(found))
        place.mkdir(parents=True, exist_ok=True)
        saved = variant.save(art, place, variant.longest)
        if saved is not None:
            found.append((row, art, *saved))
    return found


def measured(known: dict, item: tuple) -> dict:
    """Measure one picture; what came out as before is not compared with the truth anew."""
    row, art, path, matrix, *colors = item
    store = MemoryStore()
    begin = resource.getrusage(resource.RUSAGE_SELF).ru_utime
    digest = "failed"
    try:
        areas = find_areas(path, store=store)
        parts = [shapely.to_wkb(areas.polygons), areas.colors.tobytes(), str(areas.enclosed)]
        digest = hashlib.sha256(repr(parts).encode()).hexdigest()
    except ReliefsmithError:
        pass
    cpu = resource.getrusage(resource.RUSAGE_SELF).ru_utime - begin
    place = f"{path.parent.parent.name}/{path.parent.name}"
    if digest != "failed" and known.get(place, {}).get("digest") == digest:
        return known[place] | {"cpu": cpu}
    variant = next(one for one in (*VARIANTS, *PASSED_ON, *WILD) if one.name == row[0])
    result = measure(art, variant, path, matrix, *colors, store=store)
    return {
        "row": row,
        "place": place,
        "art": art.name,
        "digest": digest,
        "right": bool(result.right),
        "found": result.found,
        "wanted": result.wanted,
        "mean_iou": result.mean_iou,
        "worst_iou": result.worst_iou,
        "valid": result.valid,
        "cpu": cpu,
        "failure": result.failure,
    }


def run(folder: Path, name: str, rows: list[str] | None, jobs: int) -> None:
    """Measure all pictures, or those of some rows, with the code that is imported."""
    known = {}
    for file in sorted(folder.glob("*.json")):
        known |= {item["place"]: item for item in json.loads(file.read_text())}
    items = [item for item in pickle.loads((folder / "pictures.pickle").read_bytes()) if _is_in(item, rows)]
    with ProcessPoolExecutor(jobs) as pool:
        found = list(pool.map(partial(measured, known), items))
    (folder / f"{name}.json").write_text(json.dumps(found, indent=1))


def _is_in(item: tuple, rows: list[str] | None) -> bool:
    return not rows or item[0][0] in rows or item[0][1] in rows


def compare(folder: Path, names: tuple[str, str]) -> bool:
    """Print both runs row by row, and what changed; return whether no row lost anything."""
    runs = [
        {item["place"]: item for item in json.loads((folder / f"{name}.json").read_text())} for name in names
    ]
    both = [place for place in runs[0] if place in runs[1]]
    fine = True
    print(f"row                    n  right {names[0]}, {names[1]}  mean IoU          lowest          CPU s")
    for row in dict.fromkeys(tuple(runs[0][place]["row"]) for place in both):
        of_row = [[run[place] for place in both if tuple(run[place]["row"]) == row] for run in runs]
        right = [sum(item["right"] for item in items) for items in of_row]
        mean = [float(np.mean([item["mean_iou"] for item in items])) for items in of_row]
        lowest = [min(item["mean_iou"] for item in items) for items in of_row]
        cpu = [sum(item["cpu"] for item in items) for items in of_row]
        lost = right[1] < right[0] or mean[1] < mean[0] - MOST_LOST
        fine &= not lost
        print(
            f"{' '.join(row):20} {len(of_row[0]):3}  {right[0]:5} {right[1]:3}      "
            f"{mean[0]:.4f} {mean[1]:.4f}    {lowest[0]:.3f} {lowest[1]:.3f}   "
            f"{cpu[0]:6.1f} {cpu[1]:6.1f}{'  LOST' * lost}"
        )
    for place in both:
        old, new = runs[0][place], runs[1][place]
        if old["digest"] != new["digest"]:
            print(
                f"    {place:22} {old['art']:40} {old['found']}/{old['wanted']} {old['right']!s:5} "
                f"{old['mean_iou']:.4f} -> {new['found']} {new['right']!s:5} {new['mean_iou']:.4f} "
                f"{new['failure']}"
            )
    return fine


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("save", "run", "compare"))
    parser.add_argument("folder", type=Path)
    parser.add_argument("names", nargs="*", help="of the two runs to compare")
    parser.add_argument("--name", default="new", help="of a run")
    parser.add_argument("--row", action="append", help="only these rows, or only 'own' or 'held'")
    parser.add_argument("--seed", type=int, default=1, help="of what is held out")
    parser.add_argument("--times", type=int, default=1, help="so many times as many pictures")
    parser.add_argument("--jobs", type=int, default=2, help="processes")
    options = parser.parse_args()
    if options.what == "save":
        save(options.folder, options.seed, options.times)
    elif options.what == "run":
        run(options.folder, options.name, options.row, options.jobs)
    elif not compare(options.folder, tuple(options.names)):
        sys.exit(1)


if __name__ == "__main__":
    main()
