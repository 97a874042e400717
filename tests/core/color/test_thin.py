"""Colors that exist only in lines: what edges show of three colors is none of them."""

from __future__ import annotations

import pytest
import shapely

from exactart import painted_over

from .pictures import assert_colors, separated

WHITE, RED = (255, 255, 255), (206, 17, 38)


@pytest.mark.parametrize("part", [0.25, 0.4, 0.5, 0.6, 0.75])
def test_paint_over_paint_along_a_straight_rim_is_no_color_of_its_own(part: float) -> None:
    """A rim that both paints cover in part shows the lower one through the upper one."""
    sheet = shapely.box(30, 40 - part, 370, 360 + part)
    right = shapely.box(90, 40 - part, 370, 360 + part)
    artwork = painted_over([(sheet, WHITE), (right, RED)], 400, alpha=True)
    assert_colors(separated(artwork), ["#ffffff", "#ce1126"])
