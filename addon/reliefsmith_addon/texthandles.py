# SPDX-License-Identifier: GPL-3.0-or-later
"""Texts taken hold of in the 3D view: each is moved by its middle and turned by a handle past its end.

A text that fills a box or an area stands, once it is dragged, at a point, in the size that it had.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from mathutils import Vector

from . import properties

_BEYOND_MM = 4.0
"""How far past the end of a text the handle lies that turns it."""

_FILLED = ("box_mm", "area", "area_mm")
_DIGITS_DEG = 1


def keep(state: Any, texts: Sequence[Any]) -> None:
    """Keep where a run set its texts, by their numbers."""
    state.texts.clear()
    for text in texts:
        row = state.texts.add()
        left, low, right, high = text.letters.bounds
        row.at, row.middle = text.at_mm, ((left + right) / 2, (low + high) / 2)
        row.size_mm, row.is_back = text.size_mm, text.side == "back"
        corners = ((x, y) for x in (left, right) for y in (low, high))
        row.reach_mm = max(math.dist(text.at_mm, corner) for corner in corners) + _BEYOND_MM


@dataclass(frozen=True)
class TextHandle:
    """One text that is moved, or turned, in the view.

    Parameters
    ----------
    index : int
        Of its table in the recipe, from 0.
    turns : bool
    """

    index: int
    turns: bool = False
    way = None

    @property
    def title(self) -> str:
        """What it is called while it is dragged."""
        return f"Text {self.index + 1}"

    def is_there(self, state: Any) -> bool:
        """Return whether the last run set this text, and its table still stands."""
        return self.index < min(len(state.texts), len(state.lettering))

    def at(self, box: tuple[Vector, Vector], state: Any) -> Vector:
        """Return where it stands in the piece's frame: on the front, or under the back."""
        set_at = state.texts[self.index]
        place = Vector(set_at.middle)
        if self.turns:
            place = Vector(set_at.at) + self._arm(state, state.lettering[self.index].turn_deg)
        return Vector((*place, box[0].z if set_at.is_back else box[1].z))

    def taken(self, state: Any) -> Any:
        """Set the text at its point, if it has none, and return what Esc gives back."""
        recipe = properties.to_recipe(state)
        before = recipe.plain("lettering")
        row, set_at = state.lettering[self.index], state.texts[self.index]
        if not (row.use_at_mm or self.turns):
            own = {key: value for key, value in before[self.index].items() if key not in _FILLED}
            (size,) = properties.place((set_at.size_mm,))
            placed = {**own, "at_mm": properties.place(set_at.at), "size_mm": size, "align": "center"}
            entries = [*before[: self.index], placed, *before[self.index + 1 :]]
            properties.from_recipe(state, recipe.with_values({"lettering": entries}))
            row = state.lettering[self.index]
        return before, Vector(row.at_mm), row.turn_deg

    def moved(self, state: Any, taken: Any, by_mm: Vector) -> str:
        """Set the place, or the turn, that a drag by `by_mm` gives; returns it in words."""
        row = state.lettering[self.index]
        if not self.turns:
            row.at_mm = properties.place(taken[1] + by_mm.to_2d())
            return "{}: {:.2f}, {:.2f} mm".format(self.title, *row.at_mm)
        arm = self._arm(state, taken[2])
        by_deg = math.degrees(arm.angle_signed(arm + by_mm.to_2d(), 0.0))  # clockwise
        turned = taken[2] - self._sense(state) * by_deg
        row.turn_deg = round((turned + 180.0) % 360.0 - 180.0, _DIGITS_DEG)
        return f"{self.title}: {row.turn_deg:.1f} degrees"

    def given_back(self, state: Any, taken: Any) -> None:
        """Set the text as it was before the drag."""
        recipe = properties.to_recipe(state).with_values({"lettering": taken[0]})
        properties.from_recipe(state, recipe)

    def _arm(self, state: Any, turn_deg: float) -> Vector:
        """Return the way from where the text stands to the handle that turns it, to the right as read."""
        turn, sense = math.radians(turn_deg), self._sense(state)
        return sense * state.texts[self.index].reach_mm * Vector((math.cos(turn), sense * math.sin(turn)))

    def _sense(self, state: Any) -> int:
        """Return -1 for a text on the back, which is read from behind, so that it turns the other way."""
        return -1 if state.texts[self.index].is_back else 1
