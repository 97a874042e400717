"""Jobs built by hand: a small kite of the Larkwater Kite Day, with everything that documents show."""

from __future__ import annotations

from dataclasses import replace

import mapbox_earcut
import numpy as np
import shapely
from shapely import affinity

from reliefsmith.findings import Finding, Note, Severity
from reliefsmith.model import (
    ColorChange,
    Estimate,
    Filament,
    FilamentMatch,
    FlatAreas,
    Frame,
    Hole,
    Inspection,
    Matching,
    Motif,
    Part,
    Plan,
    Result,
    Slab,
    Stack,
)
from reliefsmith.recipe import Recipe

BASE, MOTIF, LAYER = 2.0, 0.6, 0.2
NAVY, RED, YELLOW = (20, 33, 61), (211, 32, 32), (247, 201, 35)
DENSITY = 1.24


def prism(polygon: shapely.Geometry, bottom: float, top: float) -> tuple[np.ndarray, np.ndarray]:
    """Return vertices and triangles of an upright prism over polygons with holes."""
    vertices, triangles, start = [], [], 0
    for part in shapely.get_parts(shapely.normalize(polygon)):
        rings = [np.asarray(ring.coords)[:-1] for ring in (part.exterior, *part.interiors)]
        points = np.concatenate(rings)
        ends = np.cumsum([len(ring) for ring in rings]).astype(np.uint32)
        cap = mapbox_earcut.triangulate_float64(points, ends).reshape(-1, 3).astype(np.int64)
        a, b, c = (points[cap[:, k]] for k in range(3))
        doubled = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
        cap = cap if doubled.sum() > 0 else cap[:, ::-1]
        n = len(points)
        walls, offset = [], 0
        for ring in rings:
            i = offset + np.arange(len(ring))
            j = offset + (np.arange(len(ring)) + 1) % len(ring)
            clockwise = shapely.is_ccw(shapely.LinearRing(ring)) != (offset == 0)
            i, j = (j, i) if clockwise else (i, j)
            walls += [np.column_stack([i, j, j + n]), np.column_stack([i, j + n, i + n])]
            offset += len(ring)
        vertices += [np.column_stack([points, np.full(n, z)]) for z in (bottom, top)]
        triangles.append(start + np.concatenate([cap[:, ::-1], cap + n, *walls]))
        start += 2 * n
    return np.concatenate(vertices), np.concatenate(triangles).astype(np.int32)


def kite(width: float = 48.0, *, recipe: Recipe | None = None, repaired: bool = True) -> Result:
    """Return a kite job: navy base with an eyelet, a red sail, yellow ribbon, bows and moon."""
    k = width / 48.0
    diamond = shapely.Polygon([(0, 34), (-24, 8), (0, -26), (24, 8)])
    quarter = shapely.Polygon([(0, 34), (-24, 8), (0, 8)]).union(shapely.Polygon([(0, 8), (24, 8), (0, -26)]))
    moon = shapely.Point(-8.0, 15.5).buffer(3.2) - shapely.Point(-6.6, 16.4).buffer(2.4)
    sail = quarter.buffer(-0.8) - moon.buffer(0.01)
    other = diamond.buffer(-0.8) - quarter.buffer(0.8)
    tail = shapely.LineString([(0, -26), (4, -31), (-3, -36), (2, -42)])
    ribbon = tail.buffer(0.45)
    bows = shapely.union_all(
        [
            affinity.rotate(
                shapely.Polygon([(x - 4, y + 2.2), (x - 4, y - 2.2), (x + 4, y + 2.2), (x + 4, y - 2.2)])
                .buffer(0)
                .union(shapely.Point(x, y).buffer(1.0)),
                15 * sign,
                origin=(x, y),
            )
            for x, y, sign in ((4, -31, 1), (-3, -36, -1), (2, -42, 1))
        ]
    )
    yellow = (other | bows | ribbon) - diamond.buffer(-0.8) | other | moon
    yellow = (yellow - sail).buffer(-0.01).buffer(0.01)
    art_red, art_yellow = (
        quarter,
        (diamond - quarter).union(bows).union(tail.buffer(0.2)).union(moon) - quarter,
    )
    eyelet = shapely.Point(1.2, 37.6)
    base = shapely.union_all([diamond, yellow]).buffer(1.2).union(eyelet.buffer(5.0)) - eyelet.buffer(2.5)
    grow = [affinity.scale(item, k, k, origin=(0, 0)) for item in (base, sail, yellow, art_red, art_yellow)]
    grow = [shapely.set_precision(item.simplify(0.004), 0.001) for item in grow]  # no three points in line
    base, sail, yellow, art_red, art_yellow = grow
    return assemble(
        base,
        [("red", RED, sail), ("yellow", YELLOW, yellow)],
        [(RED, art_red), (YELLOW, art_yellow)],
        hole=Hole((1.2 * k, 37.6 * k), 5.0 * k, 2.5 * k, 1.6, "eyelet", (1.2 * k, 40.1 * k)),
        recipe=recipe or order_recipe(),
        repaired=repaired,
        scale=k,
    )


def order_recipe(**values: object) -> Recipe:
    """Return a recipe with an order of the kite day filled in."""
    texts = {
        "order.title": "Kite for the harbor stall",
        "order.customer": "Oda Fennimore, Larkwater Kite Day",
        "order.code": "LKD-014",
        "order.quantity": 12,
    }
    return Recipe().with_values({**texts, **values})


def assemble(base, motifs, art, *, hole, recipe, repaired=True, scale=1.0) -> Result:
    """Return the job of a base and motifs given as (name, color, polygon)."""
    multi = [shapely.MultiPolygon(list(shapely.get_parts(shape))) for _, _, shape in motifs]
    areas = tuple(shapely.MultiPolygon(list(shapely.get_parts(shape))) for _, shape in art)
    low_x, low_y, high_x, high_y = shapely.union_all(list(areas)).bounds
    size = (high_x - low_x, high_y - low_y)
    frame = Frame(size[0] / 800, (400.0, 600.0), 0.0, (800, 1200))
    center = base.centroid
    notes, findings = (), ()
    if repaired:
        notes = (
            Note("stroke-thickened", "ribbon thickened from 0.4 to 0.9 mm", (0.5 * scale, -34 * scale), 0.4),
            Note(
                "eyelet-added", "an eyelet of 5.0 mm was added at the top", (1.2 * scale, 37.6 * scale), 5.0
            ),
        )
        findings = (
            Finding("sharp-tip", Severity.NOTE, "the outline has a sharp tip", (24 * scale, 8 * scale, 2.0)),
            Finding("thin-strokes", Severity.WARN, "a stroke is 0.7 mm wide", (-8 * scale, 13 * scale, 2.6)),
            Finding("hole-missing", Severity.STOP, "an example of a stop without a place"),
        )
    plan = Plan(
        base,
        NAVY,
        True,
        tuple(Motif(color, shape) for (_, color, _), shape in zip(motifs, multi, strict=True)),
        areas,
        tuple(color for color, _ in art),
        frame,
        size,
        hole,
        (center.x, center.y),
        findings[:1],
        notes,
    )
    slabs = [Slab("base", "base", NAVY, base, 0.0, BASE)]
    slabs += [
        Slab(name, "motif", color, shape, BASE, BASE + MOTIF)
        for (name, color, _), shape in zip(motifs, multi, strict=True)
    ]
    tops = tuple(round(LAYER * (n + 1), 6) for n in range(round((BASE + MOTIF) / LAYER)))
    changes = tuple(ColorChange(round(BASE / LAYER) + 1, BASE, color) for _, color, _ in motifs)
    stack = Stack(tuple(slabs), tops, changes, by_height=len(motifs) == 1)
    parts = tuple(
        Part(slab.part, slab.role, slab.color, *prism(slab.polygon, slab.bottom_mm, float(slab.top)))
        for slab in slabs
    )
    volumes = {slab.part: slab.polygon.area * (float(slab.top) - slab.bottom_mm) for slab in slabs}
    masses = {name: volume * DENSITY / 1000 for name, volume in volumes.items()}
    lengths = {name: volume / (np.pi * 1.75**2 / 4) for name, volume in volumes.items()}
    estimate = Estimate(volumes, masses, lengths, 420.0, 27.5, 18.0, 6, sum(masses.values()) + 0.52, 1.35)
    flat = FlatAreas(areas, np.array([color for color, _ in art], dtype=np.uint8), frame, size)
    return Result("kite", recipe, flat, plan, stack, parts, Inspection(findings[1:], estimate))


def with_stock(result: Result, *, asked: bool = True, name: str = "Oda's berry") -> Result:
    """Return the kite job with its parts matched: red from stock, yellow from the table, navy to nothing."""
    berry = Filament(name, (205, 30, 35), "gloss", "stock", 180.0, 0.6)
    corn = Filament("corn", (250, 200, 40), "matte", "table")
    matches = (
        FilamentMatch("base", None, None, None, None),
        FilamentMatch("red", berry, 1.234, corn, 44.44),
        FilamentMatch("yellow", corn, 2.345, None, None),
    )
    return replace(result, matching=Matching(matches, asked))


def with_texts(result: Result, text: str) -> Result:
    """Return the job with `text` in every field that a user's words can reach."""
    order = {f"order.{key}": text for key in ("title", "customer")}
    recipe = result.recipe.with_values({**order, "order.code": text[:40], "cost.currency": text[:8]})
    findings = tuple(replace(item, message=text) for item in result.inspection.findings)
    notes = tuple(replace(item, message=text) for item in result.plan.notes)
    parts = tuple(replace(part, name=f"{part.name}{text}") for part in result.parts)
    estimate = result.inspection.estimate
    named = {
        key: {f"{name}{text}": value for name, value in getattr(estimate, key).items()}
        for key in ("volume_mm3", "mass_g", "filament_mm")
    }
    slabs = tuple(replace(slab, part=f"{slab.part}{text}") for slab in result.stack.slabs)
    return replace(
        result,
        stem="kite",
        recipe=recipe,
        parts=parts,
        stack=replace(result.stack, slabs=slabs),
        plan=replace(result.plan, notes=notes),
        inspection=Inspection(findings, replace(estimate, **named)),
    )
