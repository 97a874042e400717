"""What Python callers may give, and what is said of the rest: one line, what is wrong and what to give."""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

import reliefsmith as rs
from reliefsmith.errors import ArtworkError, OutputError, RecipeError, ReliefsmithError
from reliefsmith.model import Part, PictureBytes
from reliefsmith.walk.inputs import as_picture, as_recipe, named_files, recipe_files, stem_of
from reliefsmith.walk.pipeline import find_areas

BLUE, GOLD = (30, 90, 200), (240, 200, 40)


def _pixels(alpha: bool = True) -> np.ndarray:
    """A gold disc on a blue square, 120 px, on white or on nothing."""
    y, x = np.mgrid[:120, :120] - 59.5
    pixels = np.zeros((120, 120, 4), np.uint8)
    pixels[..., :3] = 255
    pixels[10:110, 10:110] = (*BLUE, 255)
    pixels[x * x + y * y < 900] = (*GOLD, 255)
    return pixels if alpha else pixels[..., :3]


def _file_bytes(pixels: np.ndarray) -> bytes:
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "PNG")
    return file.getvalue()


@pytest.fixture(scope="module")
def lamp(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("art") / "lamp.png"
    path.write_bytes(_file_bytes(_pixels()))
    return path


@pytest.mark.parametrize("alpha", [True, False], ids=["rgba", "rgb"])
def test_a_picture_gives_the_same_areas_as_path_bytes_or_array(alpha: bool, tmp_path: Path) -> None:
    pixels = _pixels(alpha)
    data = _file_bytes(pixels)
    path = tmp_path / "lamp.png"
    path.write_bytes(data)
    turned = np.asfortranarray(pixels)
    given = [
        path,
        str(path),
        data,
        bytearray(data),
        memoryview(data),
        pixels,
        turned,
        Image.fromarray(pixels),
    ]
    found = [find_areas(one) for one in given]
    assert {tuple(map(tuple, one.colors)) for one in found} == {(BLUE, GOLD)}
    assert len({one.size_mm for one in found}) == 1
    assert len({tuple(area.wkb for area in one.polygons) for one in found}) == 1


@pytest.mark.parametrize(
    ("picture", "says"),
    [
        ("", "the picture's name is empty"),
        (None, "got NoneType"),
        (5, "got int"),
        (["kite.png"], "got list"),
        ({}, "got dict"),
        (b"", "picture"),
        (b"no picture", "no picture that can be read"),
        (np.zeros((40, 40), np.uint8), r"got shape \(40, 40\) of uint8"),
        (np.zeros((40, 40, 2), np.uint8), r"got shape \(40, 40, 2\) of uint8"),
        (np.zeros((40, 40, 3)), r"got shape \(40, 40, 3\) of float64"),
        (np.zeros((0, 40, 3), np.uint8), "array is empty"),
        (np.zeros((8, 8, 3), np.uint8), "16"),
        ("nofile.png", "there is no picture at nofile.png; check the name"),
    ],
    ids=str,
)
def test_what_is_no_picture_is_refused_in_one_line(picture: Any, says: str) -> None:
    with pytest.raises(ArtworkError, match=says) as caught:
        rs.make(picture)
    assert "\n" not in str(caught.value)


def test_a_recipe_is_one_a_table_or_a_path(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    path.write_text("[base]\nborder_mm = 1.5\n")
    wanted = rs.Recipe().with_values({"base.border_mm": 1.5})
    for recipe in (wanted, {"base": {"border_mm": 1.5}}, {"base.border_mm": 1.5}, path, str(path)):
        assert as_recipe(recipe) == wanted
    assert as_recipe(None) == rs.Recipe()
    assert recipe_files(path) == recipe_files(str(path)) == (path,)
    assert recipe_files(wanted) == recipe_files(None) == ()


@pytest.mark.parametrize(
    ("recipe", "says"),
    [
        (5, "a recipe is a Recipe, a table of settings or the path of a TOML file, got int"),
        ([("base.border_mm", 1)], "got list"),
        ("", "the recipe's name is empty"),
        ("none.toml", "there is no recipe at none.toml; check the name"),
        ({5: 1}, "the name of a setting must be text, got 5"),
        ({"base": {5: 1}}, "unknown setting base.5"),
        ({"base": 5}, "base must be a table of settings, got 5; name one, such as base.shape"),
        ({"base.colour": "#ffffff"}, "unknown setting base.colour, did you mean colors.base?"),
        ({"base.border_mm": "1,5"}, "base.border_mm must be a number, got '1,5'; write 1.5"),
        ({"base.border_mm": Fraction(3, 2)}, "base.border_mm must be a number, got Fraction(3, 2)"),
        ({"base.border_mm": np.array([1.0, 2.0])}, "base.border_mm must be a number, got [1.0, 2.0]"),
        ({"base.border_mm": np.float32("nan")}, "base.border_mm must be a finite number"),
        ({"base.border_mm": np.datetime64("2020-01-01")}, "base.border_mm must be a number"),
        ({"colors.count": np.float32(3)}, "colors.count must be a whole number, got 3.0"),
        ({"colors.count": np.True_}, "colors.count must be a whole number, got True"),
        ({"heights.style": "Raised"}, "got 'Raised', did you mean raised?"),
    ],
    ids=str,
)
def test_what_is_no_recipe_is_refused_in_one_line(recipe: Any, says: str, lamp: Path) -> None:
    with pytest.raises(RecipeError) as caught:
        rs.make(lamp, recipe)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_numbers_of_numpy_are_taken_as_the_ones_that_they_print() -> None:
    recipe = as_recipe(
        {
            "base.border_mm": np.float32(1.1),
            "heights.base_mm": np.float16(1.6),
            "size.width_mm": np.array(60.5),
            "colors.count": np.int64(3),
            "filaments.only_stock": np.False_,
            "heights.style": np.str_("raised"),
            "hang.at_mm": np.array([1.5, -2], np.float32),
            "marks": [{"kind": "erase", "polygon_mm": np.array([[0, 0], [8, 0], [8, 6.1]], np.float32)}],
        }
    )
    assert (recipe.base.border_mm, recipe.heights.base_mm, recipe.size.width_mm) == (1.1, 1.6, 60.5)
    assert (recipe.colors.count, recipe.filaments.only_stock, recipe.heights.style) == (3, False, "raised")
    assert recipe.hang.at_mm == (1.5, -2.0)
    assert recipe.marks[0].polygon_mm == ((0.0, 0.0), (8.0, 0.0), (8.0, 6.1))
    assert rs.Recipe.from_mapping(recipe.as_mapping()) == recipe
    for value in (recipe.colors.count, recipe.base.border_mm, recipe.filaments.only_stock):
        assert type(value).__module__ == "builtins"


@pytest.mark.parametrize("key", ["colors.base", "colors.palette", "colors.omit", "background.color"])
def test_a_color_that_names_none_is_told_the_colors_of_the_picture(key: str, lamp: Path) -> None:
    value = ["red"] if key in ("colors.palette", "colors.omit") else "red"
    for call in (rs.make, find_areas):
        with pytest.raises(RecipeError, match=r"got 'red'; the picture has #1e5ac8 \(blue\), #f0c828 \("):
            call(lamp, {key: value})
    with pytest.raises(RecipeError, match=r'got \'f00\'; write "#ff0000"$'):
        rs.make(lamp, {key: ["f00"] if isinstance(value, list) else "f00"})
    with pytest.raises(
        RecipeError, match=r"got 'red'$"
    ):  # where there is no picture, its colors are not told
        rs.make("nofile.png", {key: value})


def test_nothing_is_written_where_no_folder_is_given(lamp: Path, tmp_path: Path, monkeypatch: Any) -> None:
    relief = rs.make(lamp)
    monkeypatch.chdir(tmp_path)
    for folder, says in (("", "no folder is given"), (None, "must be a path, got NoneType")):
        with pytest.raises(OutputError, match=says):
            relief.write(folder)  # type: ignore[arg-type]
    (tmp_path / "file").write_text("mine")
    with pytest.raises(OutputError, match="is a file; give a folder for the set"):
        relief.write(tmp_path / "file")
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
    with pytest.raises(ReliefsmithError, match=r"choose another folder$"):
        relief.write(tmp_path / "file" / "set")


def test_the_python_face_names_its_own_ways_out(lamp: Path, tmp_path: Path) -> None:
    relief = rs.make(lamp)
    (tmp_path / "lamp.svg").write_text("mine")
    with pytest.raises(OutputError) as caught:
        relief.write(tmp_path)
    assert str(caught.value).endswith("; choose another folder, or allow it with replace=True")
    with pytest.raises(OutputError) as caught:
        rs.make(lamp, None).__class__(relief.result, (tmp_path / "lamp.svg",)).write(tmp_path, replace=True)
    assert str(caught.value).endswith("; choose another folder")
    assert (tmp_path / "lamp.svg").read_text() == "mine"


def test_arrays_of_parts_are_read_only_and_the_given_ones_stay_as_they_are(lamp: Path) -> None:
    for part in rs.make(lamp).parts:
        for array in (part.vertices, part.triangles):
            with pytest.raises(ValueError, match="read-only"):
                array[0] = 0
    corners, faces = np.zeros((3, 3)), np.array([[0, 1, 2]], np.int32)
    Part("base", "base", (0, 0, 0), corners, faces)
    corners[0] = 1
    faces[0] = 0


def test_names_of_files_come_from_the_picture() -> None:
    assert stem_of(as_picture("art/kite.png")) == "kite"
    assert isinstance(as_picture(b"x"), PictureBytes)
    assert stem_of(as_picture(b"x"))


def test_files_that_a_recipe_names_are_its_hand_relief_and_fonts_of_the_users_own() -> None:
    recipe = rs.Recipe().with_values(
        {
            "heights.hand": "waves.tiff",
            "lettering": [
                {"text": "Wren", "font": "own.ttf"},
                {"text": "Tobin"},
                {"text": "a", "font": "own.ttf"},
            ],
        }
    )
    assert named_files(recipe) == (Path("waves.tiff"), Path("own.ttf"))
    assert named_files(rs.Recipe()) == ()
