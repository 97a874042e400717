"""Whether a value read from a file is what its class declares: the kinds of fields, without a library."""

from __future__ import annotations

import functools
import types
from collections.abc import Mapping
from dataclasses import fields
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import numpy as np

__all__ = ["fits", "unfit_field"]


def unfit_field(value: Any) -> str:
    """Return the name of the first field of a dataclass that does not hold what it declares, or "".

    Examples
    --------
    >>> from reliefsmith.model import Frame
    >>> unfit_field(Frame(0.1, (0.0, 0.0), "askew", (60, 40))), unfit_field(Frame(0.1, (0, 0), 0, (60, 40)))
    ('turn_deg', '')
    """
    own: Any = type(value)
    hints = _hints(own)
    return next((f.name for f in fields(value) if not fits(getattr(value, f.name), hints[f.name])), "")


def fits(value: Any, hint: Any) -> bool:
    """Return whether a value is of a declared kind; a whole number is a float too, a flag is no number.

    Of arrays only the type of their numbers is declared. Dataclasses within were looked at on their own.

    Examples
    --------
    >>> fits((1, 2.5), tuple[float, float]), fits((1, "2"), tuple[float, ...]), fits(True, int)
    (True, False, False)
    """
    if hint is Any:
        return True
    origin = get_origin(hint)
    if origin is not None:
        return _group_fits(value, origin, get_args(hint))
    if hint in (int, float):
        return isinstance(value, (int, hint)) and not isinstance(value, bool)
    return isinstance(value, hint)


def _group_fits(value: Any, origin: Any, inner: tuple[Any, ...]) -> bool:
    """Return whether a value is of a kind that names others in brackets."""
    if origin is Literal:
        return value in inner
    if origin in (Union, types.UnionType):
        return any(fits(value, one) for one in inner)
    if origin is tuple:
        return isinstance(value, tuple) and _tuple_fits(value, inner)
    if origin is np.ndarray:
        return isinstance(value, np.ndarray) and value.dtype == get_args(inner[1])[0]
    if issubclass(origin, Mapping):
        return isinstance(value, Mapping) and all(
            fits(key, inner[0]) and fits(one, inner[1]) for key, one in value.items()
        )
    return isinstance(value, origin)


def _tuple_fits(value: tuple[Any, ...], inner: tuple[Any, ...]) -> bool:
    if len(inner) == 2 and inner[1] is Ellipsis:
        return all(fits(one, inner[0]) for one in value)
    return len(value) == len(inner) and all(fits(*pair) for pair in zip(value, inner, strict=True))


@functools.cache
def _hints(cls: Any) -> dict[str, Any]:
    return get_type_hints(cls)
