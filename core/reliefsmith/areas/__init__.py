"""Areas: from a label map to areas of flat color with shared boundaries, then to millimetres."""

from __future__ import annotations

from .marks import mark, mark_steps
from .scale import scale, scale_steps
from .trace import trace, trace_steps

__all__ = ["mark", "mark_steps", "scale", "scale_steps", "trace", "trace_steps"]
