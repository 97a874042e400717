"""The size of a piece by iteration, on a walk whose border is known; forms that need a least size; places."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from reliefsmith.errors import GeometryError
from reliefsmith.model import FlatAreas, Frame
from reliefsmith.model.areas import NumberedArea
from reliefsmith.progress import Progress, Steps, drain
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.sections import FormSettings
from reliefsmith.walk.fit import check_carried, fit_steps, with_places


def _walk(
    border: Callable[[float], float], seen: list[float], ratio: float = 0.5
) -> Callable[[Recipe, str], Steps[dict[str, Any]]]:
    """A walk whose piece is the artwork, `ratio` times as high as wide, and a border that its width says."""

    def walk(recipe: Recipe, last: str) -> Steps[dict[str, Any]]:
        assert last == "hung"
        yield Progress("")
        size = recipe.size
        width = size.width_mm or (
            size.height_mm / ratio if size.height_mm else size.longest_mm / max(1, ratio)
        )
        seen.append(width)
        edge = border(width)
        base = shapely.box(-edge, 0, width + edge, width * ratio + 2 * edge)
        return {"hung": SimpleNamespace(base=base)}

    return walk


@pytest.mark.parametrize("side", ["width_mm", "height_mm", "longest_mm"])
@pytest.mark.parametrize(
    "border", [lambda _: 1.5, lambda width: 1 + width / 40, lambda width: 3 - width / 90]
)
def test_the_whole_piece_measures_what_was_asked_for(side: str, border: Callable[[float], float]) -> None:
    seen: list[float] = []
    for ratio in (0.5, 2.0):
        recipe = drain(fit_steps(_walk(border, seen, ratio), Recipe().with_values({f"size.{side}": 60.0})))
        width, edge = seen[-1], border(seen[-1])
        sides = {"width_mm": width + 2 * edge, "height_mm": width * ratio + 2 * edge}
        sides["longest_mm"] = max(sides.values())
        assert sides[side] == pytest.approx(60, abs=0.0101)
        assert getattr(recipe.size, side) < 60


def test_a_piece_without_a_border_is_done_at_once() -> None:
    seen: list[float] = []
    drain(fit_steps(_walk(lambda _: 0.0, seen), Recipe().with_values({"size.width_mm": 40.0})))
    assert seen == [40.0]
    seen.clear()
    drain(fit_steps(_walk(lambda _: 0.004, seen), Recipe().with_values({"size.width_mm": 40.0})))
    assert len(seen) == 1  # within a hundredth of a millimetre
    seen.clear()
    drain(fit_steps(_walk(lambda _: 0.006, seen), Recipe().with_values({"size.width_mm": 40.0})))
    assert len(seen) == 2


@pytest.mark.parametrize(
    "border", [lambda _: 40.0, lambda _: 21.0, lambda width: 10.0 if width > 33 else 0.0]
)
def test_a_size_that_no_artwork_gives_is_refused(border: Callable[[float], float]) -> None:
    """Nothing but border, 3 mm of artwork in it, a border that comes and goes so that no size is right."""
    seen: list[float] = []
    with pytest.raises(GeometryError, match="no artwork makes the whole piece 45 mm"):
        drain(fit_steps(_walk(border, seen), Recipe().with_values({"size.width_mm": 45.0})))
    assert len(seen) <= 12


@pytest.mark.parametrize(
    ("least", "longest", "is_carried"), [(30, 30, True), (30, 29.995, True), (30, 29.98, False)]
)
def test_an_artwork_is_as_long_as_its_form_needs(least: float, longest: float, is_carried: bool) -> None:
    for size in ((longest, 5.0), (5.0, longest)):
        if is_carried:
            check_carried(FormSettings(least_mm=least), size)
        else:
            with pytest.raises(GeometryError, match="too small for its form, which needs 30 mm"):
                check_carried(FormSettings(least_mm=least), size)
    check_carried(FormSettings(), (0.1, 0.1))


def test_areas_that_marks_and_texts_name_have_places_in_them() -> None:
    one, other = shapely.box(0, 0, 9, 9), shapely.box(20, 0, 24, 4)
    numbers = (
        NumberedArea((200, 30, 30), (4.5, 4.5), 4.5, 81.0),
        NumberedArea((30, 30, 200), (22, 2), 2.0, 16.0),
    )
    areas = FlatAreas(
        (shapely.MultiPolygon([one]), shapely.MultiPolygon([other])),
        np.array([(200, 30, 30), (30, 30, 200)], np.uint8),
        Frame(0.1, (12.0, 4.5), 0.0, (240, 90)),
        (24.0, 9.0),
        numbered=numbers,
    )
    recipe = Recipe().with_values(
        {"marks": [{"kind": "protect", "at": "area 1"}], "lettering": [{"text": "A", "area": "area 2"}]}
    )
    found = with_places(recipe, areas)
    assert one.contains(shapely.Point(found.marks[0].at_mm))
    assert other.contains(shapely.Point(found.lettering[0].area_mm))
    plain = Recipe().with_values(
        {"marks": [{"kind": "protect", "at_mm": [1, 1]}], "lettering": [{"text": "A"}]}
    )
    assert with_places(plain, areas) is plain


def test_lettering_set_anew_is_a_text_of_its_own() -> None:
    word = shapely.MultiPolygon([shapely.box(2 + 3 * k, 2, 4 + 3 * k, 6) for k in range(4)])
    ground = shapely.MultiPolygon([shapely.box(0, 0, 16, 8).difference(word)])
    colors = np.array([(244, 244, 240), (20, 24, 33)], np.uint8)
    areas = FlatAreas((ground, word), colors, Frame(0.1, (8.0, 4.0), 0.0, (160, 80)), (16.0, 8.0))
    around = [[1, 1], [15, 1], [15, 7], [1, 7]]
    recipe = Recipe().with_values({"marks": [{"kind": "replace", "polygon_mm": around, "words": "TOBIN"}]})
    assert [text.text for text in with_places(recipe, areas).lettering] == ["TOBIN"]
