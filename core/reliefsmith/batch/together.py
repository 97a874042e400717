"""One palette and one set of heights over all rows, so that a full bed takes as many changes as one piece.

Each row's own colors are looked at first. They are then folded together, the two that cost least at a time
(the share of the one that covers less, by squared CIEDE2000; it gives way to the other), until the filaments
do and none that are left count as one. Every row gets what became of its own colors, one base and the steps.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from ..colorimetry import ciede2000, parse_hex, srgb_to_lab
from ..colorimetry.reference import TOLD_APART
from ..errors import RecipeError
from ..formats.claims import Claim
from ..formats.setwriting import write_file
from ..recipe.sections import chosen_style
from ..recipe.sections.limits import MOST_COLORS
from .done import Look
from .rows import Row

__all__ = [
    "NAME",
    "Common",
    "common",
    "kept_looks",
    "matched",
    "merges",
    "require_palette",
    "told_bytes",
    "write_looks",
]

NAME = "together.json"
"""What was seen of each row, by its key, and what came of it: the next run looks at changed rows only."""
_LEAST = 2  # filaments: a base and one color on it
_SAME = 8
"""Levels of a channel that count as one before colors are folded: thousands of rows have some hundred."""
_HELD = 1e9
"""Weight of the base, which gives way to no color."""


@dataclass(frozen=True, slots=True)
class Common:
    """What all rows share.

    Parameters
    ----------
    base : str
        Its color, "#rrggbb".
    steps : tuple of str
        The colors of the art from the base up, those that cover most first.
    of_row : mapping of row number to mapping
        What each color of a row became: one of these, or the base's.
    """

    base: str
    steps: tuple[str, ...]
    of_row: Mapping[int, Mapping[str, str]]


def require_palette(most: int, rows: Iterable[Row]) -> None:
    """Check that rows can have one palette of so many filaments.

    Raises
    ------
    RecipeError
        If there cannot be so many, or a row says itself what becomes of its colors.
    """
    if not _LEAST <= most <= MOST_COLORS + 1:
        raise RecipeError(f"--palette must be between {_LEAST} and {MOST_COLORS + 1}, got {most}")
    for row in rows:
        if row.recipe.colors.merge or row.recipe.colors.omit:
            raise RecipeError(
                f"row {row.number}: colors.merge and colors.omit do not go with --palette, which folds colors"
                " over all rows; leave one out"
            )


def common(looks: Mapping[int, Look], most: int) -> Common:
    """Fold the colors of rows together until they and the base are at most so many."""
    base = _commonest(look.base for _, look in sorted(looks.items()))
    weight: dict[str, float] = {base: _HELD}
    for _, look in sorted(looks.items()):
        for color, share in look.colors:
            weight[color] = weight.get(color, 0.0) + share
    into = _rounded(weight)
    left = sorted(set(into.values()), key=lambda color: (-weight[color], color))
    mass = np.array([sum(weight[color] for color in into if into[color] == one) for one in left])
    gap = ciede2000(*(np.expand_dims([_lab(color) for color in left], axis) for axis in (1, 0)))
    while len(left) > 1:
        pairs = ~np.tri(len(left), dtype=bool)
        alike = pairs & (gap < TOLD_APART)
        if not alike.any() and len(left) <= most:
            break
        cost = np.where(alike if alike.any() else pairs, np.minimum(mass[:, None], mass) * gap**2, np.inf)
        one, other = (int(at) for at in np.unravel_index(int(np.argmin(cost)), cost.shape))
        kept, gone = (one, other) if mass[one] >= mass[other] else (other, one)
        mass[kept] += mass[gone]
        into = {color: left[kept] if goal == left[gone] else goal for color, goal in into.items()}
        del left[gone]
        mass = np.delete(mass, gone)
        gap = np.delete(np.delete(gap, gone, axis=0), gone, axis=1)
    steps = tuple(left[at] for at in np.argsort(-mass, kind="stable") if left[at] != base)
    return Common(base, steps, {number: _became(look, into, base, steps) for number, look in looks.items()})


def _rounded(weight: Mapping[str, float]) -> dict[str, str]:
    """Return for each color the one that covers most of those that are the same up to a few levels."""
    first: dict[tuple[int, ...], str] = {}
    for color in sorted(weight, key=lambda color: (-weight[color], color)):
        first.setdefault(tuple(level // _SAME for level in parse_hex(color)), color)
    return {color: first[tuple(level // _SAME for level in parse_hex(color))] for color in weight}


def _became(look: Look, into: Mapping[str, str], base: str, steps: Sequence[str]) -> dict[str, str]:
    """Return what each color of a row became; were all the base's, the largest is the nearest step."""
    became = {color: into[color] for color, _ in look.colors}
    if set(became.values()) <= {base} and steps:
        largest = max(look.colors, key=lambda entry: entry[1])[0]
        became[largest] = min(steps, key=lambda step: _gap(largest, step))
    return became


def matched(rows: Sequence[Row], shared: Common) -> tuple[Row, ...]:
    """Return rows with the palette, base and steps that they share; unchanged where nothing was seen."""
    return tuple(_matched(row, shared) if row.number in shared.of_row else row for row in rows)


def _matched(row: Row, shared: Common) -> Row:
    recipe = row.recipe
    values: dict[str, Any] = {
        "colors.merge": merges(shared.of_row[row.number]),
        "colors.base": shared.base,
    }
    if all(part.part != "base" for part in recipe.filaments.parts):  # which has the picture's own shade of it
        values["filaments.parts"] = [*recipe.filaments.parts, {"part": "base", "color": shared.base}]
    style = recipe.heights.style
    if style == "auto":
        style = chosen_style(recipe.heights, recipe.base, recipe.printer, max(len(shared.steps), 2))[0]
    if style == "stepped" and not recipe.heights.steps:
        values["heights.steps"] = list(shared.steps)
    return replace(row, recipe=recipe.with_values(values))


def merges(became: Mapping[str, str]) -> list[tuple[str, str]]:
    """Return `colors.merge` for what colors became: the nearest is renamed and takes the others."""
    pairs = []
    for goal in dict.fromkeys(became.values()):
        first, *others = sorted(
            (one for one in became if became[one] == goal), key=lambda one: _gap(one, goal)
        )
        pairs += [(first, goal)] if first != goal else []
        pairs += [(other, first) for other in others]
    return pairs


def kept_looks(folder: Path) -> dict[str, Look]:
    """Return what an earlier run saw of rows, by their keys; nothing where that cannot be read."""
    try:
        rows = json.loads((folder / NAME).read_text(encoding="utf-8"))["rows"].values()
        return {row["key"]: Look(str(row["base"]), tuple(map(_share, row["colors"]))) for row in rows}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def write_looks(folder: Path, looks: Mapping[int, Look], keys: Mapping[int, str], shared: Common) -> None:
    """Keep what was seen of rows, and what they share."""
    rows = {
        str(number): {"key": keys[number], "base": look.base, "colors": [list(one) for one in look.colors]}
        for number, look in sorted(looks.items())
    }
    told = {"schema": 1, "base": shared.base, "steps": list(shared.steps), "rows": rows}
    write_file(folder / NAME, told_bytes(told), Claim((), replace=True))


def told_bytes(told: Mapping[str, Any]) -> bytes:
    """Return what is kept of rows as it is written."""
    return (json.dumps(told, indent=1) + "\n").encode()


def _commonest(bases: Iterable[str]) -> str:
    """Return the color that most are near to, the first of equals."""
    found = list(bases)
    counts = Counter(found)
    distinct = list(counts)
    labs = np.array([_lab(color) for color in distinct])
    near = ciede2000(labs[:, None], labs[None]) < TOLD_APART
    votes = near @ np.array([counts[color] for color in distinct])
    best = int(np.argmax(votes))
    alike = [color for color, is_near in zip(distinct, near[best], strict=True) if is_near]
    return max(alike, key=counts.__getitem__)


def _share(entry: tuple[str, float]) -> tuple[str, float]:
    color, share = entry
    parse_hex(color)
    return color, float(share)


def _gap(one: str, other: str) -> float:
    return float(ciede2000(_lab(one), _lab(other)))


def _lab(color: str) -> Any:
    return srgb_to_lab(np.array(parse_hex(color), dtype=np.uint8))
