"""Solids for the tests of checks: a plate that passes every check, and ways to spoil it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

import pieces
from pieces import on_grid
from reliefsmith.checks.independent import check_parts
from reliefsmith.findings import Finding
from reliefsmith.model import Part
from reliefsmith.recipe.sections import HeightSettings, PrinterSettings

WHITE, DARK, RED, GREEN = (244, 244, 240), (20, 24, 33), (200, 30, 30), (40, 150, 60)
BASE_MM, TOP_MM = 2.0, 2.6
HOLE = (0.0, 16.0)


def plate() -> shapely.Polygon:
    """70 x 40 mm with round corners and a hole of 5 mm above its middle, 1.5 mm clear of nothing."""
    body = shapely.box(-33, -18, 33, 18).buffer(2.0, quad_segs=12)
    return on_grid(body.difference(hole_disc(2.5)))


def hole_disc(radius: float) -> shapely.Polygon:
    """A disc round the hole's centre."""
    return shapely.Point(HOLE[0], HOLE[1] - 3.0).buffer(radius, quad_segs=16)


def badge() -> shapely.Polygon:
    """A motif well inside the plate, rounded, with a round opening in it."""
    body = shapely.box(-20, -12, 20, 4).buffer(1.5, quad_segs=8)
    return on_grid(body.difference(shapely.Point(-8, -4).buffer(3, quad_segs=8)))


def base(shape: shapely.Geometry | None = None, color: tuple[int, int, int] = WHITE) -> Part:
    """The base from a shape seen from above."""
    return pieces.part("base", color, plate() if shape is None else shape, (0.0, BASE_MM))


def motif(
    shape: shapely.Geometry | None = None,
    *,
    name: str = "dark",
    color: tuple[int, int, int] = DARK,
    heights: tuple[float, float] = (BASE_MM, TOP_MM),
) -> Part:
    """A motif from a shape seen from above."""
    return pieces.part(name, color, badge() if shape is None else shape, heights)


def clean() -> tuple[Part, ...]:
    """A base and a motif to which no check has anything to say."""
    return base(), motif()


def moved(part: Part, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Part:
    """The part somewhere else."""
    return replace(part, vertices=part.vertices + np.array([x, y, z]))


def found(
    parts: Sequence[Part],
    *,
    printer: PrinterSettings | None = None,
    heights: HeightSettings | None = None,
    audience: str = "adults",
) -> list[Finding]:
    """What the layer check says of parts."""
    return list(
        check_parts(
            tuple(parts),
            printer=printer or PrinterSettings(),
            heights=heights or HeightSettings(),
            audience=audience,
        )
    )


def codes(findings: Sequence[Finding]) -> list[str]:
    """The codes of findings, sorted."""
    return sorted({item.code for item in findings})


def only(findings: Sequence[Finding], code: str) -> Finding:
    """The one finding of a code."""
    (item,) = [item for item in findings if item.code == code]
    return item
