"""Memo keys: of a picture by its bytes, of a stage's value by all that it depends on."""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from ..errors import ArtworkError
from ..model import FontFile
from ..model.artwork import PictureBytes, check_file
from ..model.result import PictureId
from ..recipe import Recipe
from ..recipe.sections import ArtworkSettings
from .stages import Stage
from .store import encode

__all__ = ["fonts_key", "picture_id", "picture_key", "stage_key", "value_key"]

_CHUNK = 1 << 20
_USUAL = ArtworkSettings()


def picture_key(picture: Path | PictureBytes, artwork: ArtworkSettings = _USUAL) -> str:
    """Return the SHA-256 of a file's bytes.

    Raises
    ------
    ArtworkError
        If it is missing, a folder, unreadable, or larger than the settings allow.
    """
    digest = hashlib.sha256()
    try:
        check_file(picture, artwork.max_file_mib)
        if isinstance(picture, PictureBytes):
            return hashlib.sha256(picture.data).hexdigest()
        with picture.open("rb") as file:
            while chunk := file.read(_CHUNK):
                digest.update(chunk)
    except ArtworkError:
        raise
    except FileNotFoundError as error:
        raise ArtworkError(f"there is no picture at {picture}; check the name") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise ArtworkError(f"cannot read the picture {picture}: {reason}") from error
    return digest.hexdigest()


def picture_id(picture: Path | PictureBytes, sha256: str | None = None) -> PictureId:
    r"""Return by what a later run knows a picture again; what of its name is not printable is escaped.

    Examples
    --------
    >>> picture_id(Path("art/kite\t.png"), "ab").name
    'kite\\t.png'
    """
    digest = picture_key(picture) if sha256 is None else sha256
    if isinstance(picture, PictureBytes):
        return PictureId("", digest)
    name = unicodedata.normalize("NFC", picture.name)
    plain = (char if char.isprintable() else char.encode("unicode_escape").decode() for char in name)
    return PictureId("".join(plain), digest)


def stage_key(stage: Stage, keys: Mapping[str, str], recipe: Recipe) -> str:
    """Return the key of a stage's value: of what it takes, its own settings and its version."""
    settings = {name: recipe.plain(name) for name in stage.settings}
    text = json.dumps(
        [stage.name, stage.version, [keys[name] for name in stage.takes], settings], sort_keys=True
    )
    return hashlib.sha256(text.encode()).hexdigest()[:40]


def value_key(value: Any) -> str:
    """Return the key of a part of a stage's value, by its content."""
    return hashlib.sha256(encode(value)).hexdigest()


def fonts_key(fonts: Sequence[FontFile]) -> str:
    """Return the key of the fonts of a recipe's texts, by their bytes."""
    return hashlib.sha256(b"".join(hashlib.sha256(font.data).digest() for font in fonts)).hexdigest()
