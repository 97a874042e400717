"""From a picture file to upright sRGB pixels at working size."""

from __future__ import annotations

from .read import read, read_steps

__all__ = ["read", "read_steps"]
