"""What goes with a piece and is printed apart from it, as the recipe asks for it."""

from __future__ import annotations

from ..model import Accessory, Plan, Stack
from ..progress import Progress, Steps, drained
from ..recipe.sections import (
    HandleSettings,
    HeightSettings,
    HousingSettings,
    PrinterSettings,
    StandSettings,
)
from .feet import foot_of
from .grip import grip_of
from .housing import frame_of, housing_of

__all__ = ["accessories", "accessory_steps"]


def accessory_steps(
    plan: Plan,
    stack: Stack,
    *,
    stand: StandSettings,
    handle: HandleSettings,
    housing: HousingSettings,
    heights: HeightSettings,
    printer: PrinterSettings,
) -> Steps[tuple[Accessory, ...]]:
    """Build what goes with a piece; nothing where the recipe asks for nothing.

    Raises
    ------
    GeometryError
        If it does not fit the piece.
    """
    made: list[Accessory] = []
    if stand.kind != "off":
        yield Progress("shaping feet", 0.0)
        made.append(foot_of(plan, stack, stand, heights, printer))
    if handle.kind != "off":
        yield Progress("shaping the handle", 0.4)
        made.append(grip_of(plan, handle, heights, printer))
    if housing.kind == "frame":
        yield Progress("shaping the frame", 0.6)
        made.append(frame_of(plan, stack, housing, heights, printer))
    if housing.kind == "walls":
        yield Progress("shaping the housing", 0.6)
        made += housing_of(plan, stack, housing, heights, printer)
    return tuple(made)


accessories = drained(accessory_steps)
