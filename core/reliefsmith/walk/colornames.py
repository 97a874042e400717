"""What a color that names none is told by: the colors of the picture, since they alone can be meant."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from ..errors import ColorError, RecipeError, ReliefsmithError
from ..progress import drain
from ..recipe import Recipe
from .inputs import Given, as_picture
from .stages import STAGES, after

__all__ = ["colors_told"]


@contextmanager
def colors_told(picture: Given) -> Iterator[None]:
    """Add the colors of the picture to the refusal of a color, such as "red".

    Raises
    ------
    RecipeError
        In place of a `ColorError`; where the picture cannot be read, that one as it is.
    """
    try:
        yield
    except ColorError as error:
        colors = _colors(picture)
        if not colors:
            raise
        raise RecipeError(f"{error}; the picture has {colors}") from error


def _colors(picture: Given) -> str:
    """Return the colors that are found without any settings, the largest first, with their words."""
    from ..colorimetry.words import to_hex, unique_names  # noqa: PLC0415 - a picture is read for a mistake only

    values: dict[str, Any] = {"picture": as_picture(picture)}
    try:
        for stage in STAGES[: len(after("separation"))]:
            values[stage.name] = drain(stage.run(values, Recipe()))
    except ReliefsmithError:
        return ""
    found = values["separation"].colors
    return ", ".join(f"{to_hex(one)} ({word})" for one, word in zip(found, unique_names(found), strict=True))
