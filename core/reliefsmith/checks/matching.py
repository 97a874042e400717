"""Matching: which filament, of the user's stock or the shipped table, comes nearest to each part's color."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache, lru_cache
from importlib import resources
from itertools import combinations

import numpy as np

from ..colorimetry import ciede2000, parse_hex, relative_luminance, srgb_to_lab
from ..colorimetry.difference import FAR
from ..findings import Finding, finding
from ..model import Filament, FilamentMatch, Inspection, Matching, Part, Stack
from ..model.arrays import Color
from ..progress import Progress, Steps, drained
from ..recipe.sections import FilamentSettings, OrderSettings
from .layerstack import seen_layers
from .leastcost import least_total
from .showthrough import covers

__all__ = ["APART", "STOCK_FIRST", "match", "match_steps", "table"]

APART = 5.0
"""Parts whose colors differ by more (CIEDE2000) never get the same filament: the picture tells them apart."""

STOCK_FIRST = 1.0
"""An entry of the table must be nearer than one in stock by a just noticeable difference to be chosen."""

_MATERIAL = "PLA"
"""Materials are not mixed in one piece; the recipe's density and the heat caution are those of this one."""

_KEPT = 8
"""Assignments that are remembered: they depend on the colors alone, not on heights and outlines."""

_LEAST_G = 0.005
"""Half of the last digit shown, so that no finding speaks of 2.00 g being less than 2.00 g."""


def match_steps(
    stack: Stack,
    parts: tuple[Part, ...],
    inspection: Inspection,
    *,
    filaments: FilamentSettings,
    order: OrderSettings,
) -> Steps[Matching]:
    """Match every part to a filament by CIEDE2000, all parts together with the least total difference.

    Two parts whose colors differ by more than `APART` get different filaments. Only where the recipe names a
    stock (or asks for it alone) are there findings: a filament that is far off, missing, too little for all
    pieces ordered, or thinner on something darker than it was tested to hide.

    Parameters
    ----------
    stack, parts, inspection
        As the stages before made them.
    filaments, order : sections of the recipe
    """
    yield Progress("matching filaments", 0.0)
    asked = bool(filaments.stock) or filaments.only_stock
    known = (*_stock(filaments), *(() if filaments.only_stock else table()))
    matches = _matches(parts, known)
    found: list[Finding] = []
    if asked:
        found += _distances(matches)
        found += _amounts(matches, inspection.estimate.mass_g, order.quantity)
        yield Progress("comparing with tested filaments", 0.5)
        found += _thin(matches, stack, parts)
    return Matching(matches, asked, tuple(found))


match = drained(match_steps)


def _stock(filaments: FilamentSettings) -> tuple[Filament, ...]:
    return tuple(
        Filament(spool.name, parse_hex(spool.color), spool.finish, "stock", spool.grams, spool.opaque_mm)
        for spool in filaments.stock
    )


@cache
def table() -> tuple[Filament, ...]:
    """Return the generic entries of the shipped table, of one material."""
    text = resources.files("reliefsmith_data").joinpath("filaments.toml").read_text(encoding="utf-8")
    rows = [row for row in tomllib.loads(text)["filament"] if row["material"] == _MATERIAL]
    return tuple(Filament(row["name"], parse_hex(row["color"]), row["finish"], "table") for row in rows)


def _matches(parts: Sequence[Part], known: Sequence[Filament]) -> tuple[FilamentMatch, ...]:
    gaps, costs, chosen = _assigned(tuple(part.color for part in parts), tuple(known))
    return tuple(
        _matched(part, known, gaps[row], _best_two(costs[row], chosen[row])) for row, part in enumerate(parts)
    )


@lru_cache(maxsize=_KEPT)
def _assigned(
    colors: tuple[Color, ...], known: tuple[Filament, ...]
) -> tuple[list[list[float]], list[list[float]], tuple[int | None, ...]]:
    """Return the differences and the costs of filaments, a row for each color, and the column of each row."""
    labs = srgb_to_lab(np.array(colors, dtype=np.uint8))
    own = srgb_to_lab(np.array([item.color for item in known], dtype=np.uint8).reshape(-1, 3))
    gaps = ciede2000(labs[:, None], own[None])
    has_stock = any(item.source == "stock" for item in known)
    costs = gaps + np.array([STOCK_FIRST if has_stock and item.source == "table" else 0.0 for item in known])
    alike = ciede2000(labs[:, None], labs[None]) <= APART
    near = [(one, other) for one, other in combinations(range(len(colors)), 2) if alike[one, other]]
    rows: list[list[float]] = costs.tolist()
    return gaps.tolist(), rows, least_total(rows, near)


def _best_two(costs: Sequence[float], chosen: int | None) -> tuple[int | None, int | None]:
    """Return the column that was chosen and the cheapest of the others."""
    others = [column for column in range(len(costs)) if column != chosen]
    return chosen, min(others, key=lambda column: costs[column], default=None)


def _matched(
    part: Part, known: Sequence[Filament], gaps: Sequence[float], best: tuple[int | None, int | None]
) -> FilamentMatch:
    (one, gap), (second, second_gap) = (
        (None, None) if column is None else (known[column], gaps[column]) for column in best
    )
    return FilamentMatch(part.name, one, gap, second, second_gap)


def _distances(matches: Sequence[FilamentMatch]) -> list[Finding]:
    """Report parts without a filament and filaments that are another color than the part."""
    found = []
    for item in matches:
        if item.filament is None or item.delta_e00 is None:
            words = f"No filament in stock is left for {item.part}: add one, or use fewer colors."
            found.append(finding("filament-missing", words))
        elif item.delta_e00 > FAR:
            words = (
                f"{item.part} will look different: {item.filament.name}, the nearest filament that is free,"
                f" is {item.delta_e00:.1f} away (CIEDE2000)."
            )
            found.append(finding("filament-far", words))
    return found


def _amounts(matches: Sequence[FilamentMatch], mass_g: dict[str, float], quantity: int) -> list[Finding]:
    """Report filaments in stock of which less is left than all pieces take."""
    needed: dict[Filament, float] = {}
    for item in matches:
        if item.filament is not None:
            needed[item.filament] = needed.get(item.filament, 0.0) + mass_g[item.part] * quantity
    pieces = "piece takes" if quantity == 1 else f"{quantity} pieces take"
    return [
        finding(
            "filament-short",
            f"{item.name} has {item.grams:.2f} g left, and the {pieces} {grams:.2f} g without purge.",
        )
        for item, grams in needed.items()
        if item.grams is not None and grams > item.grams + _LEAST_G
    ]


def _thin(matches: Sequence[FilamentMatch], stack: Stack, parts: Sequence[Part]) -> list[Finding]:
    """Report tested filaments that lie thinner on something darker than they hide."""
    tested = {
        item.part: item.filament
        for item in matches
        if item.filament is not None and item.filament.opaque_mm is not None
    }
    if not tested:
        return []
    colors = {part.name: part.color for part in parts}
    found = []
    for name, thickness, below, place in covers(seen_layers(stack, parts)):
        filament = tested.get(name)
        if filament is None or filament.opaque_mm is None or thickness >= filament.opaque_mm:
            continue
        if _light(colors[name]) > _light(colors[below]):
            words = (
                f"{filament.name} hides from {filament.opaque_mm:g} mm as tested, but {name} lies"
                f" {thickness:.2f} mm thick on {below}; raise heights.motif_mm."
            )
            found.append(finding("filament-thin", words, place))
    return found


def _light(color: Color) -> float:
    return float(relative_luminance(np.asarray(color, dtype=np.uint8)))
