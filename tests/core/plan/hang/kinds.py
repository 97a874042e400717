"""Pieces and recipes that several tests of hanging share, and what a plan says of itself."""

from __future__ import annotations

import shapely

from reliefsmith.recipe import Recipe

from ..arts import RED

DISC = (RED, shapely.Point(0, 0).buffer(20, 32))
PLATE = (RED, shapely.box(-40, -15, 40, 15))


def recipe(kind, **values):
    return Recipe().with_values({"hang.hardware": kind, **{f"hang.{k}": v for k, v in values.items()}})


def found(plan):
    return {item.code for item in plan.findings}


def noted(plan):
    return {item.code for item in plan.notes}
