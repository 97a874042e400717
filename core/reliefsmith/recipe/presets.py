"""Presets: recipes that ship with the data package, one file each, which say what they are for."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from typing import Any

from ..errors import RecipeError
from .hints import nearest
from .recipe import Recipe
from .sections import FormSettings, HeightSettings
from .settings import specs
from .tomlfile import parse_toml

__all__ = ["load_preset", "preset_forms", "preset_names", "with_preset"]


_OF_PICTURE = ("artwork", "background", "colors", "areas", "marks")
_OF_WORK = ("printer", "filaments", "beds", "cost", "order")
"""Of these a preset says single settings; all others are of the piece, which it says as a whole."""


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
    >>> preset_forms()["coaster"].kind
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
    return Recipe.from_mapping(_given(name))


def with_preset(recipe: Recipe, name: str) -> Recipe:
    """Return a recipe as another preset makes it: the piece is the preset's, the picture and the work stay.

    What the preset says of picture, printer and order stands over the recipe, and what the preset before it
    said of them goes. Hand relief stays, and so do texts in words of the customer's own.

    Examples
    --------
    >>> mine = Recipe().with_values({"colors.count": 3, "lettering": [{"text": "Mirabel"}]})
    >>> made = with_preset(mine, "bag-tag")
    >>> made.colors.count, made.base.shape, [item.text for item in made.lettering]
    (3, 'rectangle', ['Mirabel'])
    """
    given, preset = _given(name), load_preset(name)
    example = recipe.form.example
    own = tuple(item for item in recipe.lettering if not (example and example in item.text))
    hand = {key: getattr(recipe.heights, key) for key in specs(HeightSettings) if key.startswith("hand")}
    before = _without_singles(recipe)
    stays: dict[str, Any] = {key: getattr(before, key) for key in (*_OF_PICTURE, *_OF_WORK)}
    stays["artwork"] = replace(recipe.artwork, mirror=preset.artwork.mirror)  # a stamp's, not the picture's
    piece: dict[str, Any] = {"lettering": own or preset.lettering, "heights": replace(preset.heights, **hand)}
    single = {key: values for key, values in given.items() if key in stays}
    return replace(preset, **stays, **piece).merged(single)


def _without_singles(recipe: Recipe) -> Recipe:
    """Return a recipe without what the preset that it was made by says of picture, printer and order."""
    name = next((name for name, form in preset_forms().items() if form == recipe.form), None)
    if name is None:
        return recipe
    preset, plain = load_preset(name), Recipe()
    usual = {
        f"{section}.{key}": getattr(getattr(plain, section), key)
        for section, values in _given(name).items()
        if section in (*_OF_PICTURE, *_OF_WORK) and isinstance(values, dict)
        for key in values
        if getattr(getattr(recipe, section), key) == getattr(getattr(preset, section), key)
    }
    return recipe.with_values(usual)


def _given(name: str) -> dict[str, Any]:
    """Return what the file of a preset says."""
    names = preset_names()
    if name not in names:
        close = nearest(name, list(names))
        raise RecipeError(f"there is no preset {name!r}{close}; there are {', '.join(names)}")
    text = (files("reliefsmith_data") / "presets" / f"{name}.toml").read_text(encoding="utf-8")
    return parse_toml(text, f"preset {name}")
