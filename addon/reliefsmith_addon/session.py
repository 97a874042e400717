# SPDX-License-Identifier: GPL-3.0-or-later
"""What is kept between runs in this Blender: values of stages, so that only what changed is made again."""

from __future__ import annotations

from pathlib import Path

import bpy

from reliefsmith.errors import ArtworkError
from reliefsmith.model import HandRelief
from reliefsmith.pipeline import Job
from reliefsmith.store import MemoryStore

_stores: list[MemoryStore] = []


def job(picture: str, hand: HandRelief | None = None) -> Job:
    """Return the job of a picture and hand relief; jobs share their stage values.

    Raises
    ------
    ArtworkError
        If no picture is named.
    """
    if not picture.strip():
        raise ArtworkError("no picture is loaded; load one first")
    if not _stores:
        _stores.append(MemoryStore())
    return Job(Path(bpy.path.abspath(picture)), _stores[0], hand)


def forget() -> None:
    """Let go of everything that is kept."""
    _stores.clear()
