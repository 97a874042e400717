"""What matters in the hand and on the bed: small parts, sharp tips, the size of the bed."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, Severity, finding
from ..polygons import polygons_of, turn_on_bed
from .lifting import lifting_findings
from .smallparts import CYLINDER_DIAGONAL_MM, CYLINDER_WIDTH_MM, cannot_fit, extents
from .tips import ROUND_MM, sharp_tips

__all__ = ["bed_findings", "children_only", "handling_findings"]

TIP_DEG, TIP_CHILDREN_DEG = 60.0, 85.0
"""Corners sharper than this, and not rounded, are tips; stricter for children (common practice,
no source)."""

_NO_CERTIFICATE = "This is not a certification; follow local law and ask a qualified assessor."
_MOST_TIPS = 3


def children_only(audience: str) -> Severity | None:
    """Return the severity that things which are only noted for adults have for children."""
    return Severity.WARN if audience == "children" else None


def handling_findings(outline: BaseGeometry, *, audience: str) -> tuple[Finding, ...]:
    """Judge the outline of a piece seen from above.

    Parameters
    ----------
    outline : Polygon or MultiPolygon
    audience : str
        "adults" or "children".
    """
    return (*_small(outline, audience), *_tips(outline, audience))


def bed_findings(outline: BaseGeometry, bed_mm: tuple[float, float]) -> tuple[Finding, ...]:
    """Tell whether a piece lies on the bed, as it is or turned askew, and which corner may lift from it."""
    lifting = lifting_findings(outline)
    turn = turn_on_bed(outline, bed_mm)
    if turn in (0.0, 90.0):
        return lifting
    x0, y0, x1, y1 = outline.bounds
    words = f"The piece is {x1 - x0:.1f} x {y1 - y0:.1f} mm, the bed {bed_mm[0]:g} x {bed_mm[1]:g} mm"
    if turn is None:
        remedy = "cut it (seams.mode), make it smaller (size.width_mm), or set printer.bed_mm to a larger bed"
        return (finding("bed-too-small", f"{words}; {remedy}."), *lifting)
    turned = finding("bed-too-small", f"{words}; turned by {turn:g} degrees it fits.", severity=Severity.NOTE)
    return (turned, *lifting)


def _small(outline: BaseGeometry, audience: str) -> tuple[Finding, ...]:
    if cannot_fit(outline):
        return ()
    longest, width = extents(outline)
    words = (
        f"The piece ({longest:.1f} mm long, {width:.1f} mm wide) may fit in the small-parts cylinder of"
        f" 16 CFR 1501.4, being neither over {CYLINDER_DIAGONAL_MM:.1f} mm long nor over"
        f" {CYLINDER_WIDTH_MM:.1f} mm wide. Keep it from children under 3. {_NO_CERTIFICATE}"
    )
    return (finding("small-part", words, severity=children_only(audience)),)


def _tips(outline: BaseGeometry, audience: str) -> tuple[Finding, ...]:
    limit = TIP_CHILDREN_DEG if audience == "children" else TIP_DEG
    body = shapely.union_all([shapely.Polygon(piece.exterior) for piece in polygons_of(outline)])
    tips = sharp_tips(body, limit)
    words = f"A tip of the outline is sharper than {limit:g} degrees; round it to {ROUND_MM:g} mm or more."
    more = f" So are {len(tips) - _MOST_TIPS} more tips." if len(tips) > _MOST_TIPS else ""
    return tuple(
        finding(
            "sharp-tip",
            words + more if number == _MOST_TIPS else words,
            (round(x, 2), round(y, 2), 0.0),
            children_only(audience),
        )
        for number, (x, y, _) in enumerate(tips[:_MOST_TIPS], start=1)
    )
