"""The plan: what is printed where. Outline, repair, connect, hang, in this order."""

from __future__ import annotations

from .connect import connect, connect_steps
from .outline import outline, outline_steps
from .repair import repair, repair_steps

__all__ = ["connect", "connect_steps", "outline", "outline_steps", "repair", "repair_steps"]
