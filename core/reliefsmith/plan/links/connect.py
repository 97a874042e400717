"""One piece: separate pieces of the base are joined by links, by growing the border, or by a backing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from ...errors import GeometryError
from ...findings import Finding, Note, finding, note
from ...model import Plan
from ...polygons import as_multi, grow, merged, polygons_of, shrink
from ...progress import Progress, Steps, drained
from ...recipe.sections import BaseSettings, PieceSettings
from ...recipe.tables import Mark
from ..register import in_register
from ..remarks import place_of, remarks
from .bars import FILLET_MM, Link, closing_pairs, fillets, links_between, spanning_pairs
from .linkmarks import Barred, asked_links, barred_by, links_round

__all__ = ["connect", "connect_steps"]

_GROWTH_STEP_MM = 0.25
_MOST_STEPS = 80
_NECK_SLACK_MM = 0.05
_LEAST_NECK_MM = 1.0


def connect_steps(
    plan: Plan, *, pieces: PieceSettings, base: BaseSettings, link_marks: Sequence[Mark] = ()
) -> Steps[Plan]:
    """Make the base one piece.

    Notes
    -----
    links: bars along a shortest spanning tree, each at the cheapest place near the shortest connection, with
    filleted roots; two where pieces face each other along more than four widths; chains are closed where
    their ends lie near each other; a link longer than four widths is made wider. grow: the border grows until
    the pieces join with necks as wide as the least width of the base. backing: the hull of the base lies
    under all pieces, their openings kept; a core in an opening is held by links.
    none: nothing is joined, and a base in several pieces is the finding "not-one-piece". Links that marks ask
    for come first; where marks allow none, pieces are joined elsewhere.

    Returns
    -------
    Plan
        With a Polygon as base, except for "none" with several pieces.

    Raises
    ------
    GeometryError
        If the pieces could not be joined.
    """
    if any(mark.kind == "link" for mark in link_marks):
        yield Progress("adding links", 0.05)
        plan = _with_asked(plan, link_marks, pieces.link_mm)
    parts = _pieces(plan.base)
    barred = barred_by(link_marks, pieces.link_mm)
    without_links = replace(plan, notes=(*plan.notes, *barred.notes()))
    if len(parts) == 1:
        return replace(without_links, base=parts[0])
    if pieces.connect == "none":
        return _left_apart(without_links, parts)
    yield Progress("joining pieces", 0.1)
    if pieces.connect == "links":
        shape, notes, found = yield from _linked(parts, pieces.link_mm, barred)
        plan = replace(plan, findings=(*plan.findings, *found))
    elif pieces.connect == "grow":
        plan = without_links
        neck = min(pieces.link_mm, max(base.min_width_mm, _LEAST_NECK_MM))
        shape, notes = _grown(parts, neck, base.corners)
    else:
        shape, notes, found = yield from _backed_steps(plan.base, pieces.link_mm, barred)
        plan = replace(plan, findings=(*plan.findings, *found))
    yield Progress("putting motifs on the base", 0.9)
    whole, motifs = in_register(shape, plan.motifs)
    joined = _pieces(whole)
    if len(joined) != 1:
        raise GeometryError(
            f"the {len(parts)} pieces of the base could not be joined by {pieces.connect}; "
            'try pieces.connect = "backing" or a wider border'
        )
    return replace(plan, base=joined[0], motifs=motifs, notes=(*plan.notes, *notes))


connect = drained(connect_steps)


def _pieces(base: shapely.Geometry) -> list[shapely.Polygon]:
    parts = polygons_of(base)
    return sorted(parts, key=lambda piece: (-piece.area, piece.bounds))


def _left_apart(plan: Plan, parts: list[shapely.Polygon]) -> Plan:
    x, y = place_of(parts[1])
    apart = finding(
        "not-one-piece",
        f"The base falls into {len(parts)} pieces, and pieces.connect is none; the second largest lies here.",
        (x, y, 0.0),
    )
    return replace(plan, base=as_multi(parts), findings=(*plan.findings, apart))


def _with_asked(plan: Plan, marks: Sequence[Mark], width: float) -> Plan:
    """Add the links that marks ask for."""
    asked, missed = asked_links(plan.base, marks, width)
    if not asked:
        return replace(plan, findings=(*plan.findings, *missed))
    shape = merged([plan.base, *(link.bar for link, _ in asked)])
    rounded = [fillets(shape, link.bar, FILLET_MM) for link, _ in asked]
    whole, motifs = in_register(merged([shape, *rounded]), plan.motifs)
    notes = (*plan.notes, *(said for _, said in asked))
    return replace(plan, base=whole, motifs=motifs, notes=notes, findings=(*plan.findings, *missed))


def _linked(
    parts: list[shapely.Polygon], width: float, barred: Barred
) -> Steps[tuple[shapely.MultiPolygon, tuple[Note, ...], tuple[Finding, ...]]]:
    bars: list[shapely.Geometry] = []
    notes: list[Note] = []
    placed = (
        yield from _placed_steps(parts, width) if not barred.zones else _round_steps(parts, width, barred)
    )
    for first, second, link in placed:
        bars.append(link.bar)
        length = round(link.length, 2)
        message = f"A link of {length:g} mm {_joined(parts[first], parts[second])}."
        notes.append(note("link-added", message, place_of(link.bar), length))
    told, found = barred.outcome(bars)
    notes += told
    shape = merged([*parts, *bars])
    rounded: list[shapely.Geometry] = []
    for index, bar in enumerate(bars):
        yield Progress("rounding the roots of links", 0.6 + 0.3 * index / len(bars))
        rounded.append(fillets(shape, bar, FILLET_MM))
    return merged([shape, *rounded]), tuple(notes), found


def _placed_steps(parts: list[shapely.Polygon], width: float) -> Steps[list[tuple[int, int, Link]]]:
    """Place links along a shortest tree, and close its chains."""
    tree = spanning_pairs(parts)
    pairs = [*tree, *closing_pairs(parts, tree)]
    placed: list[tuple[int, int, Link]] = []
    for index, (first, second) in enumerate(pairs):
        yield Progress("placing links", 0.2 + 0.4 * index / len(pairs))
        placed += [(first, second, link) for link in links_between(parts[first], parts[second], width)]
    return placed


def _round_steps(
    parts: list[shapely.Polygon], width: float, barred: Barred
) -> Steps[list[tuple[int, int, Link]]]:
    """Place links round what is barred, and through it only where nothing else joins two pieces."""
    yield Progress("placing links round marks", 0.2)
    placed, needed = links_round(parts, width, barred)
    for first, second in needed:
        placed += [(first, second, link) for link in links_between(parts[first], parts[second], width)]
    return placed


def _joined(first: shapely.Polygon, second: shapely.Polygon) -> str:
    """Say what a link does: a piece inside the opening of another one would fall out."""
    for outer, inner in ((first, second), (second, first)):
        if shapely.Polygon(outer.exterior).contains(inner):
            return "holds a core, the piece inside an opening"
    return "joins two pieces"


def _grown(
    parts: list[shapely.Polygon], neck: float, corners: str
) -> tuple[shapely.MultiPolygon, tuple[Note, ...]]:
    """Grow the border in small steps until the pieces hang together by necks of the wanted width."""
    whole = as_multi(parts)
    farthest = max(float(parts[a].distance(parts[b])) for a, b in spanning_pairs(parts))
    for step in range(_MOST_STEPS):
        distance = round(farthest / 2 + step * _GROWTH_STEP_MM, 3)
        shape = grow(whole, distance, corners)
        core = shrink(shape, neck / 2 - _NECK_SLACK_MM)
        if len(polygons_of(shape)) == 1 and len(polygons_of(core)) == 1:
            break
    message = f"The border grew by {distance:.2f} mm until all pieces were one."
    return shape, (note("base-grown", message, place_of(shape), round(distance, 2)),)


def _backed_steps(
    base: shapely.Geometry, width: float, barred: Barred
) -> Steps[tuple[shapely.MultiPolygon, tuple[Note, ...], tuple[Finding, ...]]]:
    """Lay a backing under all pieces, and hold the cores in openings, which it leaves apart, by links."""
    shape, notes = _backed(base)
    parts = _pieces(shape)
    if len(parts) == 1:
        return shape, (*notes, *barred.notes()), ()
    shape, more, found = yield from _linked(parts, width, barred)
    return shape, (*notes, *more), found


def _backed(base: shapely.Geometry) -> tuple[shapely.MultiPolygon, tuple[Note, ...]]:
    """Lay the hull of the base under all pieces; openings inside single pieces stay open."""
    hull = base.convex_hull
    inner = [
        opening
        for piece in polygons_of(base)
        for opening in polygons_of(shapely.Polygon(piece.exterior).difference(base))
    ]
    shape = as_multi(hull.difference(merged(inner))) if inner else as_multi(hull)
    added = shape.difference(base)
    return shape, remarks("backing-added", added, "A backing of {size} mm carries separate pieces.")
