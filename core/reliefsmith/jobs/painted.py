"""A relief in other colors: the same solids, printed in what a hand chose for each part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from ..model import Plan, Stack
from ..model.arrays import Color
from ..progress import Steps, drained
from ..walk.pipeline import Relief
from ..walk.stages import STAGES

__all__ = ["painted", "painted_steps"]


def painted_steps(relief: Relief, colors: Mapping[str, Color]) -> Steps[Relief]:
    """Give parts other colors, by their names; what is found on colors and filaments is found anew.

    Shapes, heights and names stay: a part keeps the name of the color that the picture has there, and the
    recipe, which knows nothing of the hand, makes the picture's colors again.
    """
    result = relief.result
    new = {part.color: colors.get(part.name, part.color) for part in reversed(result.parts)}
    values: dict[str, Any] = {
        "hung": _plan(result.plan, new),
        "stacked": _stack(result.stack, colors, new),
        "parts": tuple(replace(part, color=colors.get(part.name, part.color)) for part in result.parts),
    }
    for stage in STAGES:
        if stage.name in ("inspection", "matching"):
            values[stage.name] = yield from stage.run(values, result.recipe)
    return replace(
        relief,
        result=replace(
            result,
            plan=values["hung"],
            stack=values["stacked"],
            parts=values["parts"],
            inspection=values["inspection"],
            matching=values["matching"],
        ),
    )


painted = drained(painted_steps)


def _plan(plan: Plan, new: Mapping[Color, Color]) -> Plan:
    motifs = tuple(replace(motif, color=new.get(motif.color, motif.color)) for motif in plan.motifs)
    return replace(plan, base_color=new.get(plan.base_color, plan.base_color), motifs=motifs)


def _stack(stack: Stack, colors: Mapping[str, Color], new: Mapping[Color, Color]) -> Stack:
    slabs, piece = (
        tuple(replace(slab, color=colors.get(slab.part, slab.color)) for slab in group)
        for group in (stack.slabs, stack.piece)
    )
    changes = [replace(item, color=new.get(item.color, item.color)) for item in stack.color_changes]
    loaded = [
        slabs[0].color,
        *(item.color for item in changes),
    ]  # none is due to the same
    kept = tuple(item for before, item in zip(loaded, changes, strict=False) if item.color != before)
    return replace(stack, slabs=slabs, piece=piece, color_changes=kept)
