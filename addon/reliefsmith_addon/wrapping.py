# SPDX-License-Identifier: GPL-3.0-or-later
"""Sentences in a sidebar: as many lines as its width asks for. Needs nothing of the bundled core."""

from __future__ import annotations

import textwrap
from typing import Any

import bpy

_CHARACTER_PX = 5.7  # mean width of a character of the interface's font, at scale 1
_MARGIN_PX = 72.0  # taken by the borders and an icon
_USUAL_PX = 280.0  # width of the sidebar where there is no window


def room(context: bpy.types.Context, share: float, margin_px: float) -> int:
    """Return how many characters a share of the sidebar's width has room for."""
    scale = context.preferences.system.ui_scale or 1.0  # 0 without a window
    width = context.region.width / scale if context.region else _USUAL_PX
    return int((share * width - margin_px) / _CHARACTER_PX)


def wrapped(layout: Any, context: bpy.types.Context, text: str, icon: str = "NONE") -> None:
    """Draw a sentence in as many lines as the sidebar's width asks for."""
    most = max(16, room(context, 1.0, _MARGIN_PX))
    column = layout.column(align=True)
    column.scale_y = 0.8
    for number, line in enumerate(textwrap.wrap(text, most)):
        column.label(text=line, icon=icon if number == 0 else "BLANK1" if icon != "NONE" else "NONE")
