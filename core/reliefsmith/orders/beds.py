"""Finished sets on beds: grouped so that a bed needs no more changes than a piece, packed, worked out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..checks.bedwork import BedWork, bed_work
from ..documents.wording import row_words
from ..errors import GeometryError, RecipeError
from ..findings import Finding, finding
from ..polygons.packing import least_gap_mm, placed_shape
from ..recipe import Recipe
from ..recipe.hints import shown
from .finished import Finished
from .units import Shapes, Unit, units_of

__all__ = ["Bed", "Copies", "Laid", "LaidPiece", "again", "copies", "lay"]

_MOST_PIECES = 3000
"""Pieces of one run, far over a shop's week: packing takes as long as they are many and different."""
_SLACK_MM = 1e-6
"""Of a distance that is measured again: far over what floats lose on a bed, far under the grid of 1 um."""


@dataclass(frozen=True, slots=True)
class LaidPiece:
    """One thing on a bed: of which copy of a set, its turn about its origin, and where that lies."""

    unit: Unit
    copy: int
    turn_deg: float
    at_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Bed:
    """A bed.

    Parameters
    ----------
    number : int
        From 1, in the order of printing.
    what : str
        "first" for a piece that is printed alone before the others, "rest", or "again".
    pieces : tuple of LaidPiece
    work : BedWork
    """

    number: int
    what: str
    pieces: tuple[LaidPiece, ...]
    work: BedWork


@dataclass(frozen=True, slots=True)
class Laid:
    """All beds, and findings on what could not be laid."""

    beds: tuple[Bed, ...]
    findings: tuple[Finding, ...] = ()


Copies = list[tuple[Finished, int]]
_Units = list[tuple[Unit, int]]


def copies(sets: Sequence[Finished]) -> Copies:
    """Return every piece of an order: each set as often as its recipe's `order.quantity` says."""
    return [(one, number) for one in sets for number in range(1, one.recipe.order.quantity + 1)]


def again(sets: Sequence[Finished], asked: str) -> Copies:
    """Return the pieces that are to be made again, such as "3,7,7": one of 3, two of 7.

    Raises
    ------
    RecipeError
        If there is no such row.
    """
    by_name = {one.name: one for one in sets}
    found: Copies = []
    for name in (word.strip() for word in asked.split(",")):
        one = by_name.get(name.lstrip("0") or name) or by_name.get(name)
        if one is None:
            raise RecipeError(f"there is no row {shown(name)}; the sets are {_few(list(by_name))}")
        found.append((one, 1 + sum(one is other for other, _ in found)))
    return found


def lay(pieces: Copies, settings: Recipe, shapes: Shapes, *, what: str = "rest", after: int = 0) -> Laid:
    """Lay pieces onto beds, with what goes with them; of a piece that is cut each part by itself.

    They share a bed where that adds no change: all colors of each of their layers are those of the same
    layer of one of them. Of each such group of whole pieces the first is laid alone, if
    `beds.first_alone` says so and `what` is "rest".

    Parameters
    ----------
    pieces : list of (Finished, int)
        Sets and the number of the copy.
    settings : Recipe
        Of printer and beds.
    shapes : Shapes
    what : str
    after : int
        Number of the last bed there is.

    Raises
    ------
    RecipeError
        If there are too many pieces for one run.
    """
    if len(pieces) > _MOST_PIECES:
        raise RecipeError(f"{len(pieces)} pieces are more than {_MOST_PIECES}; lay fewer rows at a time")
    found: list[Bed] = []
    findings = [_unfit(one) for one, copy in pieces if not one.printable and copy == 1]
    fit = [(unit, copy) for one, copy in pieces if one.printable for unit in units_of(one)]
    for group in _groups(fit, shapes):
        is_whole = not group[0][0].what
        alone = what == "rest" and settings.beds.first_alone and is_whole and len(group) > 1
        for kind, some in (("first", group[:1]), (what, group[1:])) if alone else ((what, group),):
            packed, too_large = _packed(some, settings, shapes)
            findings += too_large
            for laid in packed:
                taken = [shapes.of(piece.unit) for piece in laid]
                work = bed_work([(one.bands, one.volume_mm3) for one in taken], settings.printer)
                found.append(Bed(after + len(found) + 1, kind, laid, work))
    return Laid(tuple(found), tuple(dict.fromkeys(findings)))


def _groups(pieces: _Units, shapes: Shapes) -> list[_Units]:
    """Return what may share beds, in the order of the first of each."""
    found = {unit.name: shapes.of(unit).bands for unit, _ in pieces}
    heads: list[str] = []
    leader: dict[str, str] = {}
    for name in sorted(found, key=lambda name: -sum(map(len, found[name].levels.values()))):  # stable
        leader[name] = next((head for head in heads if found[head].holds(found[name])), name)
        if leader[name] == name:
            heads.append(name)
    groups: dict[str, _Units] = {}
    for unit, copy in pieces:
        groups.setdefault(leader[unit.name], []).append((unit, copy))
    return list(groups.values())


def _packed(
    pieces: _Units, settings: Recipe, shapes: Shapes
) -> tuple[list[tuple[LaidPiece, ...]], list[Finding]]:
    beds, printer = settings.beds, settings.printer
    width, depth = printer.bed_mm[0], printer.bed_mm[1] - beds.strip_mm
    if depth <= 0:
        raise RecipeError(
            f"beds.strip_mm of {beds.strip_mm:g} leaves nothing of printer.bed_mm; make it narrower"
        )
    outlines = [shapes.of(unit).outline for unit, _ in pieces]
    packing = shapes.packer((width, depth), beds).pack(outlines)
    found = []
    for placed in packing.by_bed():
        gap = least_gap_mm([placed_shape(outlines[one.index], one) for one in placed])
        if gap < beds.spacing_mm - _SLACK_MM:
            raise GeometryError(f"two pieces came {gap:.3f} mm near each other on a bed; report this")
        found.append(tuple(LaidPiece(*pieces[one.index], one.turn_deg, one.at_mm) for one in placed))
    large = [_too_large(pieces[index][0], shapes, (width, depth)) for index in packing.left]
    return found, large


def _too_large(unit: Unit, shapes: Shapes, room_mm: tuple[float, float]) -> Finding:
    x0, y0, x1, y1 = shapes.of(unit).outline.bounds
    size, room = f"{x1 - x0:.1f} x {y1 - y0:.1f} mm", f"{room_mm[0]:g} x {room_mm[1]:g} mm"
    name = row_words(unit.one.name) + (f", {unit.what}," if unit.what else "")
    return finding("bed-too-small", f"{name} is {size}, the bed has {room}; it was not laid.")


def _unfit(one: Finished) -> Finding:
    return finding(
        "row-left-out", f"{row_words(one.name)} was not laid: its own report says not to print it."
    )


def _few(names: Sequence[str]) -> str:
    most = 6
    return ", ".join(names) if len(names) <= most else f"{', '.join(names[: most - 1])} ... {names[-1]}"
