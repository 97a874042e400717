"""One way to make a piece: what of the recipe makes it, and what comes of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ..recipe.sections import SHIPPED_FONTS
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
        """Return the whole recipe that makes it; files that it names are found from any folder."""
        recipe = self.result.recipe
        named = {"heights.hand": recipe.heights.hand, "back.picture": recipe.back.picture}
        texts = tuple(
            item if item.font in SHIPPED_FONTS else replace(item, font=str(Path(item.font).resolve()))
            for item in recipe.lettering
        )
        found = {key: str(Path(name).resolve()) for key, name in named.items() if name}
        return recipe.with_values({**found, "lettering": texts}).to_toml()

    @property
    def printable(self) -> bool:
        """Whether no finding says not to print."""
        return self.result.printable
