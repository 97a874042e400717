# SPDX-License-Identifier: GPL-3.0-or-later
"""What all commands share: every error becomes one reported line, an unexpected one too."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any

import bpy

from . import pieces
from .saying import words


class NeedsPicture:
    """A command that can run once a picture is loaded."""

    @classmethod
    def poll(cls, context: Any) -> bool:
        if not context.scene.reliefsmith.picture:
            cls.poll_message_set("Load a picture first")
            return False
        return True


def told(function: Callable[..., set[str]]) -> Callable[..., set[str]]:
    """Make a command report an error in one line and end as cancelled, instead of showing a traceback.

    One that is not for `any_piece` is refused where the piece that is meant belongs to another file.
    """

    # Blender counts the arguments of `execute`: they must be written out.
    @functools.wraps(function)
    def execute(self: Any, context: Any) -> set[str]:
        try:
            if not getattr(self, "any_piece", False):
                pieces.refuse_foreign(bpy.context.scene)
            return function(self, context)
        except Exception as error:  # noqa: BLE001 - this is the place where the last of them end
            self.report({"ERROR"}, words(error))
            return {"CANCELLED"}

    return execute
