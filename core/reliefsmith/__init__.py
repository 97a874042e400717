"""reliefsmith: one flat picture in; checked, aligned, watertight colored parts out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .errors import ReliefsmithError
from .recipe import Recipe

if TYPE_CHECKING:
    from .model import HandRelief
    from .walk.kept import remake
    from .walk.pipeline import Job, Relief, make

__all__ = ["HandRelief", "Job", "Recipe", "Relief", "ReliefsmithError", "__version__", "make", "remake"]

__version__ = "0.2.0"


def __getattr__(name: str) -> Any:
    """Import the pipeline on first use, so that `import reliefsmith` stays light."""
    if name in {"Job", "Relief", "make"}:
        from .walk import pipeline  # noqa: PLC0415 - on purpose, see the docstring

        return getattr(pipeline, name)
    if name == "HandRelief":
        from . import model  # noqa: PLC0415 - as above

        return model.HandRelief
    if name == "remake":
        from .walk import kept  # noqa: PLC0415 - as above

        return kept.remake
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
