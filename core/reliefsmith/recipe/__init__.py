"""The recipe: every setting of one job, declared once and checked; as TOML, as a schema, with presets."""

from __future__ import annotations

from .recipe import Recipe

__all__ = ["Recipe"]
