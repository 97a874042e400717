"""Memo keys: of a picture by its bytes, of a stage's value by all that it depends on."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from .errors import ArtworkError
from .model.artwork import check_file
from .recipe import Recipe
from .sections import ArtworkSettings
from .stages import Stage
from .store import encode

__all__ = ["picture_key", "stage_key", "value_key"]

_CHUNK = 1 << 20
_USUAL = ArtworkSettings()


def picture_key(path: Path, artwork: ArtworkSettings = _USUAL) -> str:
    """Return the SHA-256 of a file's bytes.

    Raises
    ------
    ArtworkError
        If it is missing, a folder, unreadable, or larger than the settings allow.
    """
    digest = hashlib.sha256()
    try:
        check_file(path, artwork.max_file_mib)
        with path.open("rb") as file:
            while chunk := file.read(_CHUNK):
                digest.update(chunk)
    except ArtworkError:
        raise
    except FileNotFoundError as error:
        raise ArtworkError(f"there is no picture at {path}; check the name") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise ArtworkError(f"cannot read the picture {path}: {reason}") from error
    return digest.hexdigest()


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
