"""What keeps the test tier short: cases left to the deep tier, and runs that share how they begin."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import pytest

from reliefsmith.walk.stages import after
from reliefsmith.walk.store import MemoryStore

__all__ = ["Early", "broad", "examples"]

Case = TypeVar("Case")


def broad(cases: Iterable[Case], in_tier: Callable[[Case], bool]) -> list[object]:
    """Return cases for `parametrize`; those of which `in_tier` is false are left to the deep tier."""
    return [
        case
        if in_tier(case)
        else pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=pytest.mark.deep)
        for case in cases
    ]


class Early(MemoryStore):
    """Keeps what is made up to a stage, for runs that are to be fresh from there on.

    Parameters
    ----------
    last : str
        The last stage of which values are kept.
    """

    def __init__(self, last: str) -> None:
        super().__init__()
        self._stages = after(last)

    def put(self, stage: str, key: str, value: Any) -> None:
        """Keep the value of an early stage."""
        if stage in self._stages:
            super().put(stage, key, value)


def examples(few: int, many: int, *drawing: Any, **by_name: Any) -> Callable[[Callable[..., None]], object]:
    """Make a test of examples drawn as `hypothesis.given` does: few in the tier, many in the deep one.

    The test takes nothing but what is drawn.
    """
    from hypothesis import given, settings  # the environments of Blender have none

    def shared(test: Callable[..., None]) -> object:
        def run(count: int) -> None:
            settings(max_examples=count)(given(*drawing, **by_name)(test))()

        run.__name__, run.__doc__, run.__module__ = test.__name__, test.__doc__, test.__module__
        return pytest.mark.parametrize("count", broad([few, many], lambda count: count == few))(run)

    return shared
