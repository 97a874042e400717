"""What a color that names none is told by: the colors of the picture, since they alone can be meant."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from ..errors import ColorError, RecipeError, ReliefsmithError
from ..recipe import Recipe
from .inputs import Given

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
    from ..progress import drain  # noqa: PLC0415 - as above
    from .pipeline import Job  # noqa: PLC0415 - as above

    try:
        found = drain(Job(picture).steps(Recipe(), "separation"))["separation"].colors
    except ReliefsmithError:
        return ""
    return ", ".join(f"{to_hex(one)} ({word})" for one, word in zip(found, unique_names(found), strict=True))
