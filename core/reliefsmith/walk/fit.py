"""What a recipe comes to once the areas are known: its size by the whole piece, its places in mm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from ..errors import GeometryError
from ..model import FlatAreas
from ..progress import Steps
from ..recipe import Recipe
from ..recipe.sections import FormSettings

__all__ = ["check_carried", "fit_steps", "with_places"]

_FIT_MM = 0.01  # the whole piece has the size asked for within this, as the artwork has
_FIT_ROUNDS = 12
_LEAST_ARTWORK_MM = 5.0  # the bound of size.width_mm


def fit_steps(walk: Callable[[Recipe, str], Steps[dict[str, Any]]], recipe: Recipe) -> Steps[Recipe]:
    """Return the recipe with the size of the artwork at which the whole piece measures what it asks for.

    Border and eyelet hardly change with the artwork's size, so a fixed-point iteration on the difference
    closes in within a few rounds.

    Parameters
    ----------
    walk : callable
        Runs the stages of a recipe, whose size is the artwork's, up to the one that is named.
    recipe : Recipe
        With `size.measure` "piece".

    Raises
    ------
    GeometryError
        If no artwork makes a piece of that size.
    """
    size = recipe.size
    side = "width_mm" if size.width_mm is not None else "height_mm" if size.height_mm else "longest_mm"
    asked = artwork = getattr(size, side)
    for _ in range(_FIT_ROUNDS):
        fitted = recipe.with_values({f"size.{side}": round(artwork, 3)})
        values = yield from walk(fitted, "hung")
        x0, y0, x1, y1 = values["hung"].base.bounds
        piece = {"width_mm": x1 - x0, "height_mm": y1 - y0, "longest_mm": max(x1 - x0, y1 - y0)}[side]
        if abs(piece - asked) <= _FIT_MM:
            return fitted
        artwork += asked - piece
        if artwork < _LEAST_ARTWORK_MM:
            break
    raise GeometryError(
        f"no artwork makes the whole piece {asked:g} mm; ask for more, or set size.measure to artwork"
    )


def check_carried(form: FormSettings, artwork_mm: tuple[float, float]) -> None:
    """Refuse an artwork that is too small for the form of the piece.

    Raises
    ------
    GeometryError
        If its longest side is less than the form's least.

    Examples
    --------
    >>> check_carried(FormSettings(kind="medal", least_mm=30), (12.0, 9.5))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    reliefsmith.errors.GeometryError: the artwork is 12.0 mm long, too small for medal, which needs 30 mm ...
    """
    longest = max(artwork_mm)
    if form.least_mm is not None and longest < form.least_mm - _FIT_MM:
        raise GeometryError(
            f"the artwork is {longest:.1f} mm long, too small for {form.kind or 'its form'}, which needs"
            f" {form.least_mm:g} mm (form.least_mm); print it larger, or choose another preset"
        )


def with_places(recipe: Recipe, areas: FlatAreas) -> Recipe:
    """Return a recipe whose marks and texts have places in mm, and texts for lettering that marks replace.

    Examples
    --------
    >>> import numpy as np
    >>> from reliefsmith.model import Frame
    >>> areas = FlatAreas((), np.empty((0, 3), np.uint8), Frame(1.0, (0, 0), 0.0, (9, 9)), (9.0, 9.0))
    >>> with_places(Recipe(), areas) == Recipe()
    True
    """
    marked = any(mark.number is not None for mark in recipe.marks)
    marked |= any(mark.kind == "replace" for mark in recipe.marks)
    if not marked and all(text.number is None for text in recipe.lettering):
        return recipe
    from ..areas.numbers import lettering_placed, placed  # noqa: PLC0415 - most jobs have none
    from ..areas.replaced import replacing  # noqa: PLC0415 - as above

    marks, lettering = placed(recipe.marks, areas), lettering_placed(recipe.lettering, areas)
    return replace(recipe, marks=marks, lettering=(*lettering, *replacing(marks, areas)))
