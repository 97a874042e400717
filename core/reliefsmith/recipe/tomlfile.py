"""A recipe's text: small TOML, read with care, since it comes from anywhere."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path
from typing import Any

from ..errors import RecipeError
from .sections import SHIPPED_FONTS

__all__ = ["beside", "found_from", "parse_toml", "read_toml"]

_FILES = ("back.picture", "heights.hand")

_MAX_BYTES = 256 * 1024
# The parser takes time with the square of a dotted key's length: 50,000 parts take 16 s. A recipe needs two.
_MAX_KEY_PARTS = 32
_DEEP_KEY = re.compile(rf"(?<![\w-])(?:[\w-]++[ \t]*+\.[ \t]*+){{{_MAX_KEY_PARTS}}}")
_QUOTED = re.compile(r"""\"(?:[^"\\\n]|\\.)*+"?|'[^'\n]*+'?""")


def read_toml(path: str | os.PathLike[str]) -> dict[str, Any]:
    """Read a small TOML file.

    Raises
    ------
    RecipeError
        If it cannot be read, is larger than 256 KiB or is no TOML.
    """
    if not isinstance(path, (str, os.PathLike)):
        raise RecipeError(f"a recipe is read from the path of a TOML file, got {type(path).__name__}")
    if not os.fspath(path):
        raise RecipeError("the recipe's name is empty; give the path of a TOML file")
    try:
        path = Path(path)
        if path.exists() and not path.is_file():  # opening a pipe may wait for ever
            raise RecipeError(f"recipe {path} is no ordinary file; give a TOML file")
        with path.open("rb") as file:
            data = file.read(_MAX_BYTES + 1)
        if len(data) > _MAX_BYTES:
            raise RecipeError(f"recipe {path} is larger than 256 KiB; is it the right file?")
        return parse_toml(data.decode("utf-8"), f"recipe {path}")
    except UnicodeDecodeError as error:
        raise RecipeError(f"recipe {path} is no text in UTF-8; is it the right file?") from error
    except FileNotFoundError as error:
        raise RecipeError(f"there is no recipe at {path}; check the name") from error
    except (OSError, ValueError) as error:
        if isinstance(error, RecipeError):
            raise
        raise RecipeError(
            f"cannot read recipe {path}: {getattr(error, 'strerror', None) or error}"
        ) from error


def parse_toml(text: str, name: str) -> dict[str, Any]:
    r"""Parse TOML; `name` says in an error what was parsed.

    Examples
    --------
    >>> parse_toml("[size]\nwidth_mm = 40", "mine.toml")
    {'size': {'width_mm': 40}}
    """
    deep = f"{name} is no valid recipe: its keys, tables or lists are nested too deep"
    if _DEEP_KEY.search(_QUOTED.sub("s", text)):
        raise RecipeError(deep)
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise RecipeError(deep) from error
    except ValueError as error:  # bad TOML, or a whole number of thousands of digits
        raise RecipeError(f"{name} is no valid TOML: {error}") from error


def beside(values: dict[str, Any], path: str | os.PathLike[str]) -> dict[str, Any]:
    """Return a recipe's tables with the files that it names found from its own folder."""
    folder = Path(path).parent
    found, rows = dict(values), values.get("lettering")
    for section, table in values.items():
        if isinstance(table, dict):
            found[section] = {
                key: found_from(folder, f"{section}.{key}", value) for key, value in table.items()
            }
    if isinstance(rows, list):
        found["lettering"] = [
            {key: found_from(folder, f"lettering.{key}", value) for key, value in row.items()}
            if isinstance(row, dict)
            else row
            for row in rows
        ]
    return found


def found_from(folder: Path, key: str, value: Any) -> Any:
    """Return the value of a setting by its dotted key; of one that names a file, that found from a folder.

    Examples
    --------
    >>> found_from(Path("fair"), "lettering.2.font", "sans")
    'sans'
    >>> Path(found_from(Path("fair"), "back.picture", "sun.png")).parts
    ('fair', 'sun.png')
    """
    if not isinstance(value, str) or not value:
        return value
    is_font = key.startswith("lettering.") and key.endswith(".font") and value not in SHIPPED_FONTS
    return str(folder / value) if is_font or key in _FILES else value
