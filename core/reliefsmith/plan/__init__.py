"""The plan: what is printed where. Outline, repair, connect, hang, in this order."""

from __future__ import annotations

from .carry import carry, carry_steps
from .connect import connect, connect_steps
from .hang import hang, hang_steps
from .hardware import Hardware, hardware_for, hardware_table
from .outline import outline, outline_steps
from .repair import mend, mend_steps, repair, repair_steps

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
