"""The errors that reliefsmith raises on purpose: one root, one child for each kind of caller's mistake.

Every message is one line that says what is wrong, where, and what to do.
"""

from __future__ import annotations

__all__ = ["ArtworkError", "GeometryError", "OutputError", "RecipeError", "ReliefsmithError", "StoreError"]


class ReliefsmithError(Exception):
    """Root of all errors raised on purpose; `str()` is one plain line for the user."""


class ArtworkError(ReliefsmithError, ValueError):
    """The picture cannot be read, is too small or too large, or holds nothing but background."""


class RecipeError(ReliefsmithError, ValueError):
    """A setting has an unknown key, a wrong type, or a value out of its bounds."""


class GeometryError(ReliefsmithError, ValueError):
    """A geometry step cannot give a valid result for this artwork and these settings."""


class OutputError(ReliefsmithError, OSError):
    """A file or folder cannot be written or read."""


class StoreError(ReliefsmithError, ValueError):
    """A stored stage value cannot be read back."""
