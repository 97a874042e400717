"""What a recipe implies: for children a base without pointed corners, mirrored texts where the art is."""

from __future__ import annotations

from dataclasses import replace

from .recipe import Recipe

__all__ = ["CHILD_ROUND_MM", "suited"]

CHILD_ROUND_MM = 0.6
"""Least radius of outer corners for children: above the 0.5 mm from which a corner does not feel sharp
(common practice, no source), so that chords of the arc and the 1 um grid leave it true."""


def suited(recipe: Recipe) -> Recipe:
    """Return a recipe with what it implies: for children, border and margin that round every corner.

    Where the picture is mirrored, so are the texts of the front. Growth with round corners rounds each corner
    by at least its radius, whatever lies inside.

    Examples
    --------
    >>> suited(Recipe().with_values({"audience": "children", "base.border_mm": 0})).base.border_mm
    0.6
    """
    base = recipe.base
    if recipe.artwork.mirror:
        texts = tuple(
            item if item.place == "back" else replace(item, mirror=True) for item in recipe.lettering
        )
        recipe = replace(recipe, lettering=texts)
    if recipe.audience != "children":
        return recipe
    return recipe.with_values(
        {
            "base.corners": "round",
            "base.border_mm": max(base.border_mm, CHILD_ROUND_MM),
            "base.margin_mm": max(base.margin_mm, CHILD_ROUND_MM),
        }
    )
