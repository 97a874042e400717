"""Presets: recipes that ship with the data package, one file each, which say what they are for."""

from __future__ import annotations

from importlib.resources import files

from ..errors import RecipeError
from .hints import nearest
from .recipe import Recipe
from .sections import FormSettings
from .tomlfile import parse_toml

__all__ = ["load_preset", "preset_forms", "preset_names"]


def preset_names() -> tuple[str, ...]:
    """Return the names of the shipped presets, sorted.

    Examples
    --------
    >>> preset_names()[:2]
    ('badge-magnet', 'badge-pin')
    """
    folder = files("reliefsmith_data") / "presets"
    return tuple(
        sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml"))
    )


def preset_forms() -> dict[str, FormSettings]:
    """Return what each preset says of itself, by its name.

    Examples
    --------
    >>> preset_forms()["coaster"].name
    'coaster'
    """
    return {name: load_preset(name).form for name in preset_names()}


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
