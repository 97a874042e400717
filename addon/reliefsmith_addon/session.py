# SPDX-License-Identifier: GPL-3.0-or-later
"""What is kept between runs in this Blender: values of stages, so that only what changed is made again."""

from __future__ import annotations

from typing import Any

from reliefsmith.model import HandRelief
from reliefsmith.pipeline import Job
from reliefsmith.store import MemoryStore

from . import pictures

_stores: list[MemoryStore] = []


def job(state: Any, hand: HandRelief | None = None) -> Job:
    """Return the job of the picture that a state names and of hand relief; jobs share their stage values.

    Raises
    ------
    ArtworkError
        If no picture is named.
    """
    if not _stores:
        _stores.append(MemoryStore())
    return Job(pictures.path(state), _stores[0], hand)


def forget() -> None:
    """Let go of everything that is kept."""
    _stores.clear()
