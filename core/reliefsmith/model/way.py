"""One way to make a piece: what of the recipe makes it, and what comes of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .result import Result

__all__ = ["Way"]


@dataclass(frozen=True, slots=True)
class Way:
    """One way to make a piece.

    Parameters
    ----------
    kind : str
        In what it differs from the way that the recipe asks for: "base", "colors", "shape", "size" or
        "style"; empty for that way itself.
    settings : mapping
        Of dotted key to value: what it changes in the recipe.
    result : Result
    """

    kind: str
    settings: Mapping[str, Any]
    result: Result

    def recipe_toml(self) -> str:
        """Return the whole recipe that makes it; hand relief that it names is found from any folder."""
        recipe = self.result.recipe
        if recipe.heights.hand:
            recipe = recipe.with_values({"heights.hand": str(Path(recipe.heights.hand).resolve())})
        return recipe.to_toml()

    @property
    def printable(self) -> bool:
        """Whether no finding says not to print."""
        return self.result.printable
