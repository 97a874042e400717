"""The plan: what is printed where. Outline, repair, connect, hang, in this order."""

from __future__ import annotations

from .base.carry import carry, carry_steps
from .base.outline import outline, outline_steps
from .hang.hang import hang, hang_steps
from .hang.hardware import Hardware, hardware_for, hardware_table
from .links.connect import connect, connect_steps
from .strokes.repair import mend, mend_steps, repair, repair_steps

__all__ = [
    "Hardware",
    "carry",
    "carry_steps",
    "connect",
    "connect_steps",
    "hang",
    "hang_steps",
    "hardware_for",
    "hardware_table",
    "mend",
    "mend_steps",
    "outline",
    "outline_steps",
    "repair",
    "repair_steps",
]
