# SPDX-License-Identifier: GPL-3.0-or-later
"""What is kept between runs in this Blender: values of stages, so that only what changed is made again."""

from __future__ import annotations

from typing import Any

import bpy

from reliefsmith.model import HandRelief
from reliefsmith.recipe import Recipe
from reliefsmith.walk.pipeline import Job
from reliefsmith.walk.store import MemoryStore

from . import pictures

_stores: list[MemoryStore] = []
_BESIDE = "//"  # how Blender writes a path from the folder of the .blend


class _Job(Job):
    """A job whose recipes may name files as Blender does."""

    def relief_steps(self, recipe: Recipe) -> Any:
        return super().relief_steps(with_paths(recipe))


def with_paths(recipe: Recipe) -> Recipe:
    """Return a recipe that names its files of hand relief and second picture as other programs do."""
    named = {"heights.hand": recipe.heights.hand, "back.picture": recipe.back.picture}
    return recipe.with_values(
        {key: bpy.path.abspath(name) for key, name in named.items() if name.startswith(_BESIDE)}
    )


def job(state: Any, hand: HandRelief | None = None) -> Job:
    """Return the job of the picture that a state names and of hand relief; jobs share their stage values.

    Raises
    ------
    ArtworkError
        If no picture is named.
    """
    if not _stores:
        _stores.append(MemoryStore())
    return _Job(pictures.path(state), _stores[0], hand)


def forget() -> None:
    """Let go of everything that is kept."""
    _stores.clear()
