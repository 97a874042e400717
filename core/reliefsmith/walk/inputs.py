"""What Python callers may give: a picture as path, bytes or array; a recipe as such, as table or as path."""

from __future__ import annotations

import io
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeAlias

from ..errors import ArtworkError, RecipeError
from ..formats.stems import FALLBACK_STEM, safe_stem
from ..model import FontFile, HandPicture, HandRelief, PictureBytes
from ..recipe import Recipe
from ..recipe.sections import SHIPPED_FONTS, Inscription

__all__ = ["PICTURES", "Given", "GivenHand", "GivenRecipe", "as_fonts", "as_hand", "as_picture", "as_recipe"]
__all__ += ["named_files", "recipe_files", "stem_of"]

Given: TypeAlias = str | os.PathLike[str] | bytes | bytearray | memoryview | Any
"""A picture: the path of its file, the file's bytes, or an array (height, width, 3 or 4) of uint8, sRGB."""

GivenRecipe: TypeAlias = Recipe | Mapping[str, Any] | str | os.PathLike[str] | None
"""A recipe: as such, as nested tables or dotted keys, the path of its file, or None for the defaults."""

GivenHand: TypeAlias = HandRelief | HandPicture | Any
"""Hand relief: as such, or an array (height, width) in mm that covers the artwork's picture."""

PICTURES = (".png", ".jpg", ".jpeg", ".webp", ".tif", ".tiff", ".bmp", ".gif", ".svg", ".heic", ".heif")
"""Ends of the names of files that are taken for pictures."""

_WANTED = "a picture is the path of a file, its bytes, or an array (height, width, 3 or 4) of uint8"
_MODES = {3: "RGB", 4: "RGBA"}


def as_picture(picture: Given) -> Path | PictureBytes:
    """Return a picture as the stages take it.

    Raises
    ------
    ArtworkError
        If it is none of what a picture may be.

    Examples
    --------
    >>> as_picture("kite.png").name
    'kite.png'
    >>> stem_of(as_picture(b"the bytes of a file"))
    'relief'
    """
    if isinstance(picture, PictureBytes):
        return picture
    if isinstance(picture, (bytes, bytearray, memoryview)):
        return PictureBytes(bytes(picture))
    if isinstance(picture, (str, os.PathLike)):
        if not os.fspath(picture):
            raise ArtworkError(f"the picture's name is empty; {_WANTED}")
        return Path(picture)
    if hasattr(picture, "__array_interface__") or hasattr(picture, "__array__"):
        return _packed(picture)
    raise ArtworkError(f"{_WANTED}, got {type(picture).__name__}")


def as_recipe(recipe: GivenRecipe) -> Recipe:
    """Return a recipe, checked.

    Raises
    ------
    RecipeError
        If it cannot be read or is none of what a recipe may be.

    Examples
    --------
    >>> as_recipe({"size": {"width_mm": 60}, "base.border_mm": 1.5}).base.border_mm
    1.5
    """
    if recipe is None:
        return Recipe()
    if isinstance(recipe, Recipe):
        return recipe
    if isinstance(recipe, Mapping):
        return Recipe().with_values(recipe)
    if isinstance(recipe, (str, os.PathLike)):
        return Recipe.load(recipe)
    kind = type(recipe).__name__
    raise RecipeError(f"a recipe is a Recipe, a table of settings or the path of a TOML file, got {kind}")


def as_hand(hand: GivenHand, recipe: Recipe) -> HandPicture | None:
    """Return hand relief as the stages take it: what was given, else what the recipe names, else None.

    Raises
    ------
    RecipeError
        If it cannot be used, or has only half a frame, or heights in mm without one.
    """
    if isinstance(hand, HandPicture):
        return hand
    if hand is None and not recipe.heights.hand:
        return None
    from ..formats.heightfile import checked_heights, read_heights  # noqa: PLC0415 - most jobs have none

    if isinstance(hand, HandRelief):
        values = checked_heights(hand.values, "the hand relief")
        return HandPicture(values, (hand.origin[0], hand.origin[1]), hand.step)
    if hand is not None:
        return HandPicture(checked_heights(hand, "the hand relief"))
    heights = recipe.heights
    if (heights.hand_origin is None) != (heights.hand_step is None):
        raise RecipeError("heights.hand_origin and heights.hand_step go together; set both, or neither")
    path = Path(heights.hand)
    values, of_floats = read_heights(path, heights.hand_range_mm)
    if of_floats and heights.hand_step is None:
        raise RecipeError(
            f"hand relief {path.name} has no frame; set heights.hand_origin and heights.hand_step, as the"
            " recipe that was written with it does"
        )
    return HandPicture(values, heights.hand_origin, heights.hand_step, f"hand relief {path.name}")


def as_fonts(recipe: Recipe) -> tuple[FontFile, ...]:
    """Return the font of each text of a recipe and of its marks, looked at before any work.

    Raises
    ------
    RecipeError
        If a font cannot be read or used, or lacks a letter; if a text has none.
    """
    words = [mark.words for mark in recipe.marks if mark.kind == "replace"]
    texts = (*recipe.lettering, *(Inscription(text) for text in words if text))
    if not texts:
        return ()
    fonts = []
    for number, item in enumerate(texts, start=1):
        try:
            fonts.append(_font_of(item))
        except RecipeError as error:
            place = number - len(recipe.lettering)
            where = f"lettering entry {number}" if place <= 0 else f"replace mark {place}"
            raise RecipeError(f"{where}: {error}") from error
    return tuple(fonts)


def _font_of(item: Inscription) -> FontFile:
    """Return the font of a text, which has all its letters."""
    from ..typeset.fonts import face_of, read_font, shipped_font  # noqa: PLC0415 - most jobs have none
    from ..typeset.lines import LINE_BREAK  # noqa: PLC0415 - as above
    from ..typeset.shaping import lacks_nothing, plain_text, shaped  # noqa: PLC0415 - as above

    text = plain_text(item.text.replace(LINE_BREAK, " "))
    shipped = {word: shipped_font(word, file) for word, file in SHIPPED_FONTS.items()}
    font = shipped.get(item.font) or read_font(Path(item.font))
    face = face_of(font)
    try:
        shaped(face, text)
    except RecipeError as error:
        fitting = [word for word, other in shipped.items() if lacks_nothing(face_of(other), text)]
        if not fitting:
            raise
        lacking = str(error).partition("; ")[0]
        raise RecipeError(f"{lacking}; the shipped font {fitting[0]} has the whole text") from error
    return font


def recipe_files(recipe: GivenRecipe) -> tuple[Path, ...]:
    """Return the file that a recipe was read from, if one was."""
    return (Path(recipe),) if isinstance(recipe, (str, os.PathLike)) else ()


def named_files(recipe: Recipe) -> tuple[Path, ...]:
    """Return the files that a recipe names: a second picture, hand relief, fonts that are not shipped."""
    fonts = dict.fromkeys(item.font for item in recipe.lettering if item.font not in SHIPPED_FONTS)
    return tuple(Path(name) for name in (recipe.back.picture, recipe.heights.hand, *fonts) if name)


def stem_of(picture: Path | PictureBytes) -> str:
    """Return the stem of the names of a picture's files.

    Examples
    --------
    >>> stem_of(Path("art/kite.png"))
    'kite'
    """
    return FALLBACK_STEM if isinstance(picture, PictureBytes) else safe_stem(picture.stem)


def _packed(picture: Any) -> PictureBytes:
    """Return an array as the bytes of a picture file that holds just its values."""
    import numpy as np  # noqa: PLC0415 - a path needs neither
    from PIL import Image  # noqa: PLC0415 - as above

    pixels = np.asarray(picture)
    if pixels.ndim != 3 or pixels.shape[2] not in _MODES or pixels.dtype != np.uint8:
        raise ArtworkError(f"{_WANTED}, got shape {pixels.shape} of {pixels.dtype}")
    if 0 in pixels.shape:
        raise ArtworkError(f"the picture's array is empty, of shape {pixels.shape}")
    file = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(pixels), _MODES[pixels.shape[2]]).save(file, "PNG", compress_level=1)
    return PictureBytes(file.getvalue())
