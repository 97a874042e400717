"""The second picture of a recipe, for the back: its file, and its areas, found by the same stages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeAlias

from ..errors import ArtworkError, ReliefsmithError
from ..model import FlatAreas, PictureBytes
from ..model.artwork import check_file
from ..progress import Steps, labelled
from ..recipe import Recipe
from ..recipe.sections import ArtworkSettings, ColorSettings

__all__ = ["as_second", "second_steps"]

Walk: TypeAlias = Callable[[PictureBytes, Recipe], Steps[dict[str, Any]]]

_USUAL = ArtworkSettings()


def as_second(recipe: Recipe) -> PictureBytes | None:
    """Return the second picture that a recipe names, read before any work, or None.

    Raises
    ------
    ArtworkError
        If it cannot be read.

    Examples
    --------
    >>> as_second(Recipe()) is None
    True
    """
    if not recipe.back.picture:
        return None
    path = Path(recipe.back.picture)
    try:
        check_file(path, recipe.artwork.max_file_mib)
        return PictureBytes(path.read_bytes(), path.name)
    except FileNotFoundError as error:
        raise ArtworkError(f"back.picture: there is no picture at {path}; check the name") from error
    except ArtworkError as error:
        raise ArtworkError(f"back.picture: {error}") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise ArtworkError(f"back.picture: cannot read {path}: {reason}") from error


def second_steps(
    picture: PictureBytes | None,
    recipe: Recipe,
    walk: Walk,
) -> Steps[FlatAreas | None]:
    """Find the areas of the second picture in small steps; what marks and crops say is of the first one.

    Parameters
    ----------
    picture : PictureBytes or None
    recipe : Recipe
    walk : callable
        Runs the stages of a picture and a recipe up to the flat areas.

    Raises
    ------
    ReliefsmithError
        As the first picture would, with the setting that names this one.
    """
    if picture is None:
        return None
    limits = replace(recipe.artwork, kind=_USUAL.kind, crop=None, corners=None, mirror=False)
    own = Recipe(artwork=limits, colors=ColorSettings(count=recipe.back.colors), areas=recipe.areas)
    try:
        areas: FlatAreas = (yield from labelled("backed", walk(picture, own)))["flat"]
    except ReliefsmithError as error:
        raise type(error)(f"back.picture: {error}") from error
    return areas
