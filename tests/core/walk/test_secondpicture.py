"""The second picture: read before any work, its areas found by the same stages, its errors under its name."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from reliefsmith.errors import ArtworkError, GeometryError, ReliefsmithError
from reliefsmith.model import PictureBytes
from reliefsmith.progress import Progress, Steps, drain
from reliefsmith.recipe import Recipe
from reliefsmith.walk.secondpicture import as_second, second_steps

PICTURE = PictureBytes(b"sun", "sun.png")


def _recipe(path: Path | str, **more: Any) -> Recipe:
    return Recipe().with_values({"back.picture": str(path), **more})


def test_the_file_that_a_recipe_names_is_read_with_its_name(tmp_path: Path) -> None:
    (tmp_path / "sun.png").write_bytes(b"sun")
    assert as_second(_recipe(tmp_path / "sun.png")) == PICTURE
    assert as_second(Recipe()) is None


@pytest.mark.parametrize("where", ["none.png", "folder", "k" * 300])
def test_a_file_that_cannot_be_read_is_told_by_its_setting(where: str, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(ArtworkError, match=r"^back.picture: ") as caught:
        as_second(_recipe(tmp_path / where))
    assert "\n" not in str(caught.value)


def test_the_limit_of_files_holds_for_it_too(tmp_path: Path) -> None:
    (tmp_path / "sun.png").write_bytes(bytes(1 << 20))
    assert as_second(_recipe(tmp_path / "sun.png", **{"artwork.max_file_mib": 1.0})) is not None
    with pytest.raises(ArtworkError, match=r"^back.picture: "):
        as_second(_recipe(tmp_path / "sun.png", **{"artwork.max_file_mib": 0.99}))


def test_without_a_second_picture_nothing_is_walked() -> None:
    def walk(*_: object) -> Steps[Any]:
        raise AssertionError
        yield

    assert drain(second_steps(None, Recipe(), walk)) is None


def test_it_is_walked_with_its_own_colors_and_the_limits_of_the_first() -> None:
    """What is said of the first picture, its part, its kind, its marks, is not said of this one."""
    asked: list[Recipe] = []

    def walk(picture: PictureBytes, recipe: Recipe) -> Steps[dict[str, Any]]:
        assert picture is PICTURE
        asked.append(recipe)
        yield Progress("reading", 0.5, "artwork")
        return {"flat": "areas"}

    said = {
        "artwork.kind": "flat",
        "artwork.mirror": True,
        "artwork.crop": (0, 0, 9, 9),
        "artwork.max_megapixels": 3.0,
        "colors.count": 5,
        "back.colors": 2,
        "areas.smoothing": 0.9,
        "size.width_mm": 33,
        "marks": [{"kind": "erase", "at_mm": [0, 0]}],
    }
    shown: list[Progress] = []
    assert drain(second_steps(PICTURE, Recipe().with_values(said), walk), shown.append) == "areas"
    wanted = {"artwork.max_megapixels": 3.0, "colors.count": 2, "areas.smoothing": 0.9}
    assert asked == [Recipe().with_values(wanted)]
    assert {one.stage for one in shown} == {"backed"}


@pytest.mark.parametrize("kind", [ArtworkError, GeometryError])
def test_what_is_wrong_with_it_is_told_by_its_setting(kind: type[ReliefsmithError]) -> None:
    def walk(*_: object) -> Iterator[Progress]:
        yield Progress("")
        raise kind("it is blank")

    with pytest.raises(kind, match=r"^back.picture: it is blank$"):
        drain(second_steps(PICTURE, Recipe(), walk))  # type: ignore[arg-type]
