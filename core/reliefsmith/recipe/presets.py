"""Presets: named recipes that ship with the data package."""

from __future__ import annotations

from importlib.resources import files

from ..errors import RecipeError
from .hints import nearest
from .recipe import Recipe
from .tomlfile import parse_toml

__all__ = ["load_preset", "preset_names"]


def preset_names() -> tuple[str, ...]:
    """Return the names of the shipped presets, sorted.

    Examples
    --------
    >>> {"bold", "pocket", "tag"} <= set(preset_names())
    True
    """
    folder = files("reliefsmith_data") / "presets"
    return tuple(
        sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml"))
    )


def load_preset(name: str) -> Recipe:
    """Return the recipe of a shipped preset.

    Raises
    ------
    RecipeError
        If there is no preset of that name.

    Examples
    --------
    >>> load_preset("pocket").size.longest_mm
    68.0
    """
    names = preset_names()
    if name not in names:
        close = nearest(name, list(names))
        raise RecipeError(f"there is no preset {name!r}{close}; there are {', '.join(names)}")
    text = (files("reliefsmith_data") / "presets" / f"{name}.toml").read_text(encoding="utf-8")
    return Recipe.from_mapping(parse_toml(text, f"preset {name}"))
