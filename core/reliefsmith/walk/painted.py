"""Parts printed in other colors than the picture's: the same solids; what speaks of colors follows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from ..colorimetry import parse_hex
from ..findings import Finding, finding
from ..model import Part, Plan, Pocket, SetText, Stack
from ..model.arrays import Color
from ..recipe.hints import nearest, shown
from ..recipe.tables import PartColor

__all__ = ["painted"]

_Laid = TypeVar("_Laid", Pocket, SetText)


def painted(values: Mapping[str, Any], rows: Sequence[PartColor]) -> dict[str, Any]:
    """Return plan, stack and parts, by the names of their stages, in the colors that rows give to parts.

    Shapes, heights and names stay: a part keeps the name of the color that the picture has there, which
    stands beside them as "drawn". What is found on colors and filaments comes after this.
    """
    parts: tuple[Part, ...] = values["parts"]
    drawn = {part.name: part.color for part in parts}
    colors: dict[str, Color] = {row.part: parse_hex(row.color) for row in rows if row.part in drawn}
    new = {part.color: colors.get(part.name, part.color) for part in reversed(parts)}
    stack = _stack(values["stacked"], colors, new)
    unknown = tuple(_unknown(row.part, list(drawn)) for row in rows if row.part not in drawn)
    return {
        "divided": _plan(values["divided"], new),
        "stacked": replace(stack, findings=(*stack.findings, *unknown)),
        "parts": tuple(replace(part, color=colors.get(part.name, part.color)) for part in parts),
        "drawn": drawn,
    }


def _unknown(name: str, known: Sequence[str]) -> Finding:
    there = nearest(name, known) or f"; the parts are {', '.join(known)}"
    return finding("color-unmatched", f"filaments.parts names {shown(name)}, which is no part here{there}.")


def _plan(plan: Plan, new: Mapping[Color, Color]) -> Plan:
    return replace(
        plan,
        base_color=new.get(plan.base_color, plan.base_color),
        motifs=tuple(replace(motif, color=new.get(motif.color, motif.color)) for motif in plan.motifs),
        inlays=_renewed(plan.inlays, new),
        texts=_renewed(plan.texts, new),
    )


def _renewed(items: Sequence[_Laid], new: Mapping[Color, Color]) -> tuple[_Laid, ...]:
    return tuple(
        replace(item, color=new.get(item.color, item.color)) if item.color else item for item in items
    )


def _stack(stack: Stack, colors: Mapping[str, Color], new: Mapping[Color, Color]) -> Stack:
    slabs, piece = (
        tuple(replace(slab, color=colors.get(slab.part, slab.color)) for slab in group)
        for group in (stack.slabs, stack.piece)
    )
    changes = [replace(item, color=new.get(item.color, item.color)) for item in stack.color_changes]
    loaded = [slabs[0].color, *(item.color for item in changes)]  # no change is due to the same color
    kept = tuple(item for before, item in zip(loaded, changes, strict=False) if item.color != before)
    return replace(stack, slabs=slabs, piece=piece, color_changes=kept)
