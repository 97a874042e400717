"""Kinds of fields as they are declared: what fits, and the first field that does not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pytest
import shapely

from reliefsmith.model.arrays import Floats
from reliefsmith.walk.declared import fits, unfit_field


@dataclass
class Kite:
    sail: shapely.Polygon
    ribs: tuple[float, ...] = ()
    place: tuple[float, float] | None = None
    kind: Literal["flat", "box"] = "flat"
    bows: int = 0
    named: Mapping[str, int] | None = None
    points: Floats | None = None
    other: Any = None


SAIL = shapely.box(0, 0, 1, 1)


@pytest.mark.parametrize(
    ("value", "hint"),
    [
        (1, float),
        (1.5, float),
        (3, int),
        (None, float | None),
        ("box", Literal["flat", "box"]),
        ((), tuple[float, ...]),
        ((1, 2.5, 3), tuple[float, ...]),
        ((1.0, "a"), tuple[float, str]),
        ({"a": 1}, Mapping[str, int]),
        ({}, dict[str, int]),
        (np.zeros(2), Floats),
        (np.zeros((0, 3)), Floats),
        (object(), Any),
        (SAIL, shapely.Geometry),
        ([1], list[int]),
    ],
)
def test_what_is_declared_fits(value: Any, hint: Any) -> None:
    assert fits(value, hint)


@pytest.mark.parametrize(
    ("value", "hint"),
    [
        (True, float),
        (True, int),
        (1.5, int),
        ("1", float),
        (None, float),
        ("1", float | None),
        ("round", Literal["flat", "box"]),
        ([1.0], tuple[float, ...]),
        ((1.0, "a"), tuple[float, ...]),
        ((1.0,), tuple[float, float]),
        ((1.0, 2.0, 3.0), tuple[float, float]),
        ({"a": "b"}, Mapping[str, int]),
        ({1: 1}, Mapping[str, int]),
        ([("a", 1)], Mapping[str, int]),
        (np.zeros(2, np.float32), Floats),
        ([0.0], Floats),
        (SAIL, shapely.MultiPolygon),
        ((1,), list[int]),
    ],
)
def test_what_is_not_declared_does_not_fit(value: Any, hint: Any) -> None:
    assert not fits(value, hint)


def test_flags_are_flags() -> None:
    assert fits(True, bool)
    assert not fits(1, bool)


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({}, ""),
        ({"sail": None}, "sail"),
        ({"ribs": (1, None)}, "ribs"),
        ({"place": (1.0,)}, "place"),
        ({"kind": "round", "bows": "3"}, "kind"),
        ({"bows": True}, "bows"),
        ({"named": {"a": None}}, "named"),
        ({"points": np.zeros(3, int)}, "points"),
        ({"other": SAIL}, ""),
    ],
)
def test_the_first_field_that_holds_something_else_is_named(changed: dict[str, Any], name: str) -> None:
    assert unfit_field(Kite(**{"sail": SAIL, **changed})) == name
