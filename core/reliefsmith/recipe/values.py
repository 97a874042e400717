"""What is known of a setting, and how a value is checked against it, by kind."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

from ..errors import ColorError, RecipeError
from .hints import color_hint, flag_hint, nearest, number_hint, shown

__all__ = ["Spec", "checked"]

_MOST_WHOLE = 2**53  # whole numbers up to here are exact as floats
_EXAMPLE = "#1b2a49"
_HEX = re.compile(r"#[0-9a-fA-F]{6}")
_LEAST_CORNERS = 3  # a polygon has at least these


@dataclass(frozen=True, slots=True)
class Spec:
    """What is known of one setting.

    Parameters
    ----------
    kind : str
        "number", "integer", "flag", "text", "choice", "color" (also "auto"), "color-or-number", "colors",
        "color-pairs", "point" or "size" (two numbers), "box" (four numbers), "polygon" (a list of points) or
        "tables" (a list of `Row`).
    help : str
        One line in the user's words.
    unit : str
        "mm", "g/cm3", ... or empty.
    low, high : float or None
        Bounds of each number, both allowed.
    choices : tuple of str
        For "choice"; only values that work today.
    optional : bool
        Whether the setting may be left unset (None).
    most : int or None
        Entries of a "polygon" or "tables" at most.
    row : type or None
        For "tables": the `Row` that each table is.
    """

    kind: str
    help: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    optional: bool = False
    most: int | None = None
    row: type[Any] | None = None


def checked(key: str, value: Any, spec: Spec) -> Any:
    """Return a value as its setting keeps it; numbers and arrays of numpy count as Python's.

    Raises
    ------
    RecipeError
        If the value is not what `spec` asks for; the message begins with `key`.
    """
    if value is None and spec.optional:
        return None
    return _CHECKS[spec.kind](key, _plain(value), spec)


def _plain(value: Any) -> Any:
    """Return a value of numpy, or a list of such, as Python's own.

    A short float is the number that it prints: float32 0.1 is 0.1 and not 0.10000000149.
    """
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    if not hasattr(value, "dtype") or not hasattr(value, "item"):
        return value
    if getattr(value, "ndim", 0) > 0:
        return [_plain(item) for item in value]
    return float(str(value)) if value.dtype.kind == "f" else value.item()


def _number(key: str, value: Any, spec: Spec) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise RecipeError(f"{key} must be a number, got {shown(value)}{number_hint(value, spec.unit)}")
    if (isinstance(value, int) and abs(value) > _MOST_WHOLE) or not math.isfinite(value):
        raise RecipeError(f"{key} must be a finite number, got {shown(value)}")
    low, high = spec.low, spec.high
    if (low is not None and value < low) or (high is not None and value > high):
        unit = f" {spec.unit}" if spec.unit else ""
        raise RecipeError(f"{key} must be between {low:g} and {high:g}{unit}, got {value:g}")
    return float(value)


def _integer(key: str, value: Any, spec: Spec) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise RecipeError(f"{key} must be a whole number, got {shown(value)}{number_hint(value, whole=True)}")
    return int(_number(key, value, spec))


def _flag(key: str, value: Any, _spec: Spec) -> bool:
    if not isinstance(value, bool):
        raise RecipeError(f"{key} must be true or false, got {shown(value)}{flag_hint(value)}")
    return value


def _text(key: str, value: Any, spec: Spec) -> str:
    if not isinstance(value, str):
        raise RecipeError(f"{key} must be text, got {shown(value)}")
    if spec.high is not None and len(value) > spec.high:
        raise RecipeError(f"{key} may have {spec.high:g} characters at most, got {len(value)}")
    if any(ord(char) < 32 or 0xD800 <= ord(char) <= 0xDFFF or ord(char) == 127 for char in value):
        raise RecipeError(f"{key} must be one line of plain text without control characters")
    return value


def _choice(key: str, value: Any, spec: Spec) -> str:
    if not isinstance(value, str) or value not in spec.choices:
        close = nearest(value, spec.choices) if isinstance(value, str) else ""
        raise RecipeError(f"{key} must be one of {', '.join(spec.choices)}, got {shown(value)}{close}")
    return value


def _color(key: str, value: Any, spec: Spec) -> str:
    if isinstance(value, str) and (_HEX.fullmatch(value) or value in spec.choices):
        return value.lower()
    also = "".join(f"{word} or " for word in spec.choices)
    hint = color_hint(value)
    told = f'{key} must be {also}a color such as "{_EXAMPLE}", got {shown(value)}{hint}'
    raise RecipeError(told) if hint else ColorError(told)


def _color_or_number(key: str, value: Any, spec: Spec) -> str | float:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _number(key, value, spec)
    if isinstance(value, str) and _HEX.fullmatch(value):
        return value.lower()
    raise RecipeError(
        f'{key} must be a color such as "{_EXAMPLE}", or a number, got {shown(value)}'
        f"{number_hint(value, spec.unit) or color_hint(value)}"
    )


def _colors(key: str, value: Any, spec: Spec) -> tuple[str, ...]:
    if not isinstance(value, (list, tuple)):
        raise ColorError(f'{key} must be a list of colors such as ["{_EXAMPLE}"], got {shown(value)}')
    if spec.high is not None and len(value) > spec.high:
        raise RecipeError(f"{key} may list {spec.high:g} colors at most, got {len(value)}")
    return tuple(_color(key, item, spec) for item in value)


def _color_pairs(key: str, value: Any, spec: Spec) -> tuple[tuple[str, ...], ...]:
    lists = (list, tuple)
    if not isinstance(value, lists) or any(not isinstance(item, lists) or len(item) != 2 for item in value):
        raise RecipeError(f'{key} must be a list of pairs ["#from", "#to"], got {shown(value)}')
    return tuple(_colors(key, item, spec) for item in value)


def _two(key: str, value: Any, spec: Spec, count: int = 2) -> tuple[float, ...]:
    if not isinstance(value, (list, tuple)) or len(value) != count:
        asked = "two numbers such as [1.5, -2]" if count == 2 else "four numbers such as [10, 20, 300, 200]"
        raise RecipeError(f"{key} must be {asked}, got {shown(value)}")
    return tuple(_number(key, item, spec) for item in value)


def _polygon(key: str, value: Any, spec: Spec) -> tuple[tuple[float, ...], ...]:
    if not isinstance(value, (list, tuple)):
        raise RecipeError(f"{key} must be a list of points [[x, y], ...], got {shown(value)}")
    most = spec.most or len(value)
    if not _LEAST_CORNERS <= len(value) <= most:
        raise RecipeError(f"{key} must have {_LEAST_CORNERS} to {most} points, got {len(value)}")
    return tuple(_two(f"{key} point {number}", item, spec) for number, item in enumerate(value, start=1))


def _tables(key: str, value: Any, spec: Spec) -> tuple[Any, ...]:
    if not isinstance(value, (list, tuple)):
        raise RecipeError(f"{key} must be a list of tables, got {shown(value)}")
    if spec.most is not None and len(value) > spec.most:
        raise RecipeError(f"{key} may list {spec.most} tables at most, got {len(value)}")
    assert spec.row is not None
    return tuple(spec.row.entry(f"{key} entry {number}", item) for number, item in enumerate(value, start=1))


_CHECKS: dict[str, Callable[[str, Any, Spec], Any]] = {
    "number": _number,
    "integer": _integer,
    "flag": _flag,
    "text": _text,
    "choice": _choice,
    "color": _color,
    "color-or-number": _color_or_number,
    "colors": _colors,
    "color-pairs": _color_pairs,
    "point": _two,
    "size": _two,
    "box": partial(_two, count=4),
    "polygon": _polygon,
    "tables": _tables,
}
