"""The recipe that a command's words ask for: default, preset, file, flags, single settings, in this order."""

from __future__ import annotations

import contextlib
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..errors import RecipeError
from .entries import keys_beside, with_entries
from .hints import shown
from .recipe import Recipe
from .sections.limits import MOST_COLORS
from .tomlfile import beside, read_toml

__all__ = ["asked_over", "asked_recipe", "assignment", "parsed"]


def asked_recipe(
    path: Path | None,
    preset: str | None,
    *,
    width: float | None = None,
    height: float | None = None,
    colors: int | None = None,
    sets: list[str] | None = None,
) -> Recipe:
    """Put together default, preset, recipe, flags and --set, the later over the earlier."""
    recipe = Recipe()
    if preset is not None:
        from .presets import load_preset

        recipe = load_preset(preset)
    if path is not None:
        recipe = recipe.merged(beside(read_toml(path), path))
    if width is not None and height is not None:
        raise RecipeError("--width and --height cannot both be given; leave one out")
    if colors is not None and not 1 <= colors <= MOST_COLORS:
        raise RecipeError(f"--colors must be between 1 and {MOST_COLORS}, got {colors}")
    flags = {"size.width_mm": width, "size.height_mm": height, "colors.count": colors}
    for key, value in flags.items():
        if value is not None:
            recipe = recipe.with_values({key: value})
    entries: dict[str, Any] = {}
    for said in map(assignment, sets or ()):
        if any(map(keys_beside, said)):  # one table of a list takes several of them
            entries |= said
        else:
            recipe = recipe.with_values(said)
    return with_entries(recipe, entries)


def asked_over(recipe: Recipe, path: Path | None, sets: list[str] | None) -> Recipe:
    """Return a recipe with what a file and --set say of printer, beds, cost and order; the piece stays."""
    asked = recipe if path is None else recipe.merged(beside(read_toml(path), path))
    for text in sets or ():
        asked = asked.with_values(assignment(text))
    return replace(recipe, printer=asked.printer, beds=asked.beds, cost=asked.cost, order=asked.order)


def assignment(text: str) -> Mapping[str, Any]:
    """Read one "section.key=value"; the value is TOML, else a string.

    Examples
    --------
    >>> assignment("base.border_mm=1.5"), assignment("base.shape=circle")
    ({'base.border_mm': 1.5}, {'base.shape': 'circle'})
    """
    key, equals, value = text.partition("=")
    if not equals or not key.strip():
        raise RecipeError(f"--set needs SECTION.KEY=VALUE, such as base.border_mm=1.5, got {shown(text)}")
    return {key.strip(): parsed(value)}


def parsed(text: str) -> Any:
    """Return the value that a text means: TOML where it is that, else the text.

    Examples
    --------
    >>> parsed("1.5"), parsed("true"), parsed("round")
    (1.5, True, 'round')
    """
    with contextlib.suppress(ValueError, RecursionError):  # bad TOML, or thousands of digits
        return tomllib.loads(f"value = {text}")["value"] if "\n" not in text else text
    return text
