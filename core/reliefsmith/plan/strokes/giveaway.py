"""What cannot be printed is given to the neighbor with the longest shared boundary."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ...model.arrays import Flags, Shapes
from ...polygons import (
    as_multi,
    grow,
    near,
    noded_coverage,
    polygons_of,
    shared_lengths,
    shrink,
    tiles,
    union_of_faces,
)
from ...progress import Progress, Steps
from .centerlines import THIN_SLACK_MM
from .partition import GROUND, Sheet
from .spared import NOTHING_KEPT, Kept

__all__ = ["Given", "given_away_steps"]

LEAST_TAIL_MM2, SMALL_TAIL_MM2 = 0.02, 0.002
"""Tails and tips smaller than the first print as part of a rounded corner; of small colors, where a few of
them are a visible share, also those above the second."""

_TAIL_SHARE = 0.0025
"""Tails that together are less than this share of their color's area do not matter."""

_ALIKE = 0.9
"""Tails of nearly the same size, such as the corners of a square, are treated alike."""

_MARGIN = 3.0
"""Margin of the tiles in radii of the nozzle."""

_TOUCHING_MM = 0.002
"""What changed and what it changed may be apart by the grid."""

_DOING = "giving away what cannot print"

_CHIP_MM2 = 0.001
"""Smaller pieces are dust of noding."""


@dataclass(frozen=True, slots=True)
class Given:
    """A piece, or the tail of one, that changed its owner: from one number to another."""

    polygon: shapely.Polygon
    origin: int
    target: int
    is_tail: bool = False


def given_away_steps(
    sheet: Sheet,
    nozzle: float,
    zone: shapely.Geometry | None = None,
    *,
    kept: Kept = NOTHING_KEPT,
    fraction: float = 0.0,
) -> Steps[tuple[Sheet, list[Given]]]:
    """Give pieces and tails that a nozzle cannot print to the neighbor with the longest shared boundary.

    A piece goes if nothing of it is as wide as the nozzle, or if its area is under that of a square of one
    nozzle's side; a tail goes where a disc of the nozzle's diameter does not reach it.

    Parameters
    ----------
    sheet : Sheet
    nozzle : float
        Nozzle diameter in mm.
    zone : geometry, optional
        Only pieces and tails near it are looked at.
    kept : Kept
        What marks keep as it is.
    fraction : float
        Share of the stage that is done, for progress.

    Returns
    -------
    (Sheet, list of Given)
        The sheet on the grid, or as it was where nothing is given away.
    """
    numbers = sheet.numbers()
    weak: dict[int, list[shapely.Polygon]] = {}
    for number in numbers:
        found = yield from _weak_steps(sheet.entry(number), nozzle, zone, fraction)
        weak[number] = kept.spared(number, found)
    if not any(weak.values()):
        return sheet, []
    yield Progress(_DOING, fraction)
    parts = noded_coverage([*(as_multi(weak[n]) for n in numbers), *(sheet.entry(n) for n in numbers)])
    yield Progress(_DOING, fraction)
    pieces, owners, is_weak = _listed(parts, numbers)
    beside = _beside(pieces, is_weak)
    targets = _targets(pieces, owners, beside, kept.barred(pieces, owners, beside))
    given = [
        Given(
            pieces[index],
            owners[index],
            targets[index],
            is_tail=any(owners[there] == owners[index] and not is_weak[there] for there, _ in beside[index]),
        )
        for index in sorted(beside)
        if targets[index] != owners[index] and pieces[index].area >= _CHIP_MM2
    ]
    faces = np.asarray(pieces, dtype=object)
    by_number = {number: union_of_faces(faces[np.array(targets) == number]) for number in numbers}
    motifs = tuple(by_number[number] for number in range(len(sheet.motifs)))
    return Sheet(motifs, by_number[GROUND], sheet.frame), given


def _weak_steps(
    entry: shapely.MultiPolygon, nozzle: float, zone: shapely.Geometry | None, fraction: float
) -> Steps[list[shapely.Polygon]]:
    """Return the pieces, and of the other pieces the tails, that the nozzle cannot print."""
    pieces = np.asarray(polygons_of(entry), dtype=object)
    looked_at: shapely.Geometry = entry
    if zone is not None and len(pieces):
        looked_at = near(entry, zone, _MARGIN * nozzle)
        shapely.prepare(zone)
        pieces = pieces[shapely.dwithin(zone, pieces, _TOUCHING_MM)]
    if len(pieces) == 0:
        return []
    cores: list[shapely.Polygon] = []
    tails: list[shapely.Polygon] = []
    radius = nozzle / 2
    for tile in tiles(looked_at, _MARGIN * radius):
        yield Progress(_DOING, fraction)
        core = shrink(tile.part, radius - THIN_SLACK_MM)
        cores += polygons_of(tile.own(core))
        tails += polygons_of(tile.own(tile.part.difference(grow(core, radius))))
    strong = shapely.area(pieces) >= nozzle**2
    strong &= _hit(pieces, cores)
    if zone is not None:
        for index in np.flatnonzero(~strong & (shapely.area(pieces) >= nozzle**2)):  # cut by the boxes
            strong[index] = not shrink(pieces[index], radius - THIN_SLACK_MM).is_empty
    tails = _that_matter(tails, entry.area)
    if zone is not None:
        tails = [tail for tail in tails if shapely.dwithin(zone, tail, _TOUCHING_MM)]
    if tails and strong.any():
        owner = shapely.STRtree(pieces).query(shapely.point_on_surface(tails), predicate="intersects")
        tails = [tails[index] for index in np.unique(owner[0, strong[owner[1]]])]
    else:
        tails = []
    return [*pieces[~strong], *tails]


def _that_matter(tails: list[shapely.Polygon], area: float) -> list[shapely.Polygon]:
    """Return the tails of a color that are large, or that with the smaller ones are a visible share of it."""
    sizes = shapely.area(np.asarray(tails, dtype=object)) if tails else np.empty(0)
    rising = np.sort(sizes[sizes >= SMALL_TAIL_MM2])
    over = np.flatnonzero(np.cumsum(rising) > _TAIL_SHARE * area)
    least = min(LEAST_TAIL_MM2, _ALIKE * float(rising[over[0]]) if len(over) else np.inf)
    return [tail for tail, size in zip(tails, sizes, strict=True) if size >= max(least, SMALL_TAIL_MM2)]


def _hit(pieces: Shapes, cores: list[shapely.Polygon]) -> Flags:
    """Tell which pieces hold a core; by inner points, since pieces may touch at corners."""
    hit = np.zeros(len(pieces), dtype=bool)
    if cores:
        points = shapely.STRtree(shapely.point_on_surface(cores))
        hit[np.unique(points.query(pieces, predicate="intersects")[0])] = True
    return hit


def _listed(
    parts: tuple[shapely.MultiPolygon, ...], numbers: list[int]
) -> tuple[list[shapely.Polygon], list[int], list[bool]]:
    """Return all pieces, the weak ones first, with their owners and whether they are weak."""
    pieces: list[shapely.Polygon] = []
    owners: list[int] = []
    is_weak: list[bool] = []
    for index, part in enumerate(parts):
        found = polygons_of(part)
        pieces += found
        owners += [numbers[index % len(numbers)]] * len(found)
        is_weak += [index < len(numbers)] * len(found)
    return pieces, owners, is_weak


def _targets(
    pieces: list[shapely.Polygon],
    owners: list[int],
    beside: dict[int, list[tuple[int, float]]],
    barred: dict[int, set[int]],
) -> list[int]:
    """Return the new owner of every piece: weak ones go to the owner with the longest shared boundary."""
    targets = list(owners)
    pending = sorted(beside, key=lambda index: (pieces[index].area, index))
    waiting = set(pending)
    while pending:
        later = []
        for index in pending:
            settled = [(targets[there], length) for there, length in beside[index] if there not in waiting]
            sums: dict[int, float] = {}
            for number, length in settled:
                if number != owners[index] and number not in barred.get(index, ()):
                    sums[number] = sums.get(number, 0.0) + length
            if sums:
                targets[index] = max(sums, key=lambda number, sums=sums: (sums[number], number))  # type: ignore[misc]
                waiting.discard(index)
            else:
                later.append(index)
        if len(later) == len(pending):  # enclosed by pieces that cannot be printed either
            for index in later:
                targets[index] = owners[index] if GROUND in barred.get(index, ()) else GROUND
            break
        pending = later
    return targets


def _beside(pieces: list[shapely.Polygon], is_weak: list[bool]) -> dict[int, list[tuple[int, float]]]:
    """Return for each weak piece the pieces beside it with the length of the boundary they share."""
    beside: dict[int, list[tuple[int, float]]] = {i: [] for i, weak in enumerate(is_weak) if weak}
    for first, second, length in shared_lengths(pieces):
        for here, there in ((int(first), int(second)), (int(second), int(first))):
            if here in beside:
                beside[here].append((there, float(length)))
    return beside
