"""Cautions on what a piece holds: magnets and pins, none of which are for children."""

from __future__ import annotations

from ..findings import Finding, Severity, finding
from ..model import Plan, Pocket

__all__ = ["caution_findings"]

_LAW = "Rules differ from place to place: follow those of yours; this is not a certification."


def caution_findings(plan: Plan, *, audience: str) -> tuple[Finding, ...]:
    """Caution of magnets and pins; for children they are refused.

    Parameters
    ----------
    plan : Plan
    audience : str
        "adults" or "children".
    """
    kinds = {pocket.kind: pocket for pocket in reversed(plan.pockets)}
    severity = Severity.STOP if audience == "children" else None
    refused = " Not for children: choose another hang.hardware." if audience == "children" else ""
    found = []
    if "magnet" in kinds:
        words = (
            "A magnet that comes loose can be swallowed; two of them, or one and a bit of iron, pinch the"
            " bowel. A swallowed magnet, like a swallowed button cell, is an emergency: get medical help at"
            f" once, even if nothing hurts. Glue it well and keep it from children.{refused} {_LAW}"
        )
        found.append(finding("magnet-caution", words, _place(kinds["magnet"]), severity))
    if "pin" in kinds:
        words = f"A brooch pin has a sharp point. Close it, and keep it from children.{refused} {_LAW}"
        found.append(finding("pin-caution", words, _place(kinds["pin"]), severity))
    return tuple(found)


def _place(pocket: Pocket) -> tuple[float, float, float]:
    middle = pocket.polygon.centroid
    return (round(middle.x, 2), round(middle.y, 2), 0.0)
