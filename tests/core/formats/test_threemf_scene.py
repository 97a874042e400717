"""What a model holds: transforms composed as matrices are, colors of properties, bounds of what is placed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reliefsmith.formats import threemf_scene
from reliefsmith.formats.bounds import BadFileError
from reliefsmith.formats.threemf_scene import Item, Object, Scene, determinant, parse_color, parse_matrix

NUMBERS = st.lists(st.integers(-9, 9), min_size=12, max_size=12)


def matrix(numbers: list[int]) -> str:
    return " ".join(map(str, numbers))


def square(rows: np.ndarray) -> np.ndarray:
    """A transform as a 4 x 4 matrix for row vectors (Core 3.3)."""
    return np.hstack([rows, [[0], [0], [0], [1]]])


def mesh(scene: Scene, key: int, name: str = "") -> Object:
    return Object(scene, key, name, "model", None, instances=1, size=4)


def group(scene: Scene, key: int, name: str = "") -> Object:
    return Object(scene, key, name, "model", None)


@settings(max_examples=20)
@given(NUMBERS)
def test_twelve_numbers_are_rows_of_three_and_the_determinant_is_numpys(numbers: list[int]) -> None:
    wanted = np.array(numbers, float).reshape(4, 3)
    if abs(np.linalg.det(wanted[:3])) < 0.5:
        with pytest.raises(BadFileError, match="flattens a part to nothing"):
            parse_matrix(matrix(numbers))
        return
    rows = parse_matrix(f"\t{matrix(numbers)}\n")
    assert np.array_equal(rows, wanted)
    assert determinant(rows) == pytest.approx(np.linalg.det(wanted[:3]))


@pytest.mark.parametrize(
    "text", ["", "1 0 0", "1 0 0 0 1 0 0 0 1 0 0", "1 0 0 0 1 0 0 0 1 0 0 0 0", "1 0 0 0 1 0 0 0 1 0 0 x",
             "1 0 0 0 1 0 0 0 1 0 0 nan", "1 0 0 0 1 0 0 0 1 0 0 1.1e6"]
)  # fmt: skip
def test_what_is_not_twelve_usable_numbers_is_told(text: str) -> None:
    with pytest.raises(BadFileError, match="not twelve usable numbers"):
        parse_matrix(text)
    assert np.array_equal(square(parse_matrix(None)), np.eye(4))
    assert determinant(parse_matrix("1e-4 0 0 0 1e-4 0 0 0 1.1e-4 0 0 1e6")) == pytest.approx(1.1e-12)


def test_nested_transforms_are_the_product_of_their_matrices_innermost_first() -> None:
    scene = Scene()
    one, middle, outer = mesh(scene, 1), group(scene, 2), group(scene, 3)
    turn, shear, move = (
        parse_matrix(text)
        for text in ("0 1 0 -1 0 0 0 0 1 5 0 0", "1 2 0 0 1 0 0 0 3 0 7 0", "1 0 0 0 1 0 0 0 -1 1 2 3")
    )
    middle.place(one, turn)
    middle.place(one, shear)
    outer.place(middle, shear)
    scene.items.append(Item(outer, move))
    found = [instance.matrix for instance in scene.instances()]
    wanted = [square(inner) @ square(shear) @ square(move) for inner in (turn, shear)]
    assert np.array_equal([square(rows) for rows in found], wanted)
    made = [instance.matrix for instance in scene.items[0].as_made()]
    assert np.array_equal(
        [square(rows) for rows in made], [square(inner) @ square(shear) for inner in (turn, shear)]
    )


def test_a_mesh_is_called_by_itself_or_by_the_next_object_that_has_a_name() -> None:
    scene = Scene()
    plain, named, outer = mesh(scene, 1), mesh(scene, 2, "kite"), group(scene, 4, "heron")
    inner = group(scene, 3)
    for part in (plain, named):
        inner.place(part, parse_matrix(None))
    outer.place(inner, parse_matrix(None))
    scene.items += [Item(outer, parse_matrix(None)), Item(plain, parse_matrix(None))]
    assert [one.name for one in scene.instances()] == ["heron", "kite", ""]


def test_counts_include_all_below_and_have_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    scene = Scene()
    one, pair, four = mesh(scene, 1), group(scene, 2), group(scene, 3)
    for _ in range(2):
        pair.place(one, parse_matrix(None))
    for _ in range(2):
        four.place(pair, parse_matrix(None))
    assert (four.instances, four.size, four.depth) == (4, 16, 3)
    monkeypatch.setattr(threemf_scene, "MAX_INSTANCES", 5)
    four.place(one, parse_matrix(None))
    assert four.depth == 3
    with pytest.raises(BadFileError, match="object 3 is made of too many components"):
        four.place(one, parse_matrix(None))
    monkeypatch.setattr(threemf_scene, "MAX_TRIANGLES", 8)
    with pytest.raises(BadFileError, match="object 2 is made of too many"):
        pair.place(one, parse_matrix(None))
    assert group(scene, 9).depth == 1


@pytest.mark.parametrize("levels", [15, 16])
def test_nesting_has_its_bound(levels: int) -> None:
    """16 deep: a mesh within 15 objects of components."""
    scene = Scene()
    inner = mesh(scene, 1)
    for key in range(2, levels + 1):
        outer = group(scene, key)
        outer.place(inner, parse_matrix(None))
        inner = outer
    last = group(scene, 99)
    if levels == 15:
        last.place(inner, parse_matrix(None))
        assert last.depth == 16
    else:
        with pytest.raises(BadFileError, match="nests components more than 16 deep"):
            last.place(inner, parse_matrix(None))


def test_a_property_has_its_members_color_and_what_is_not_there_is_told() -> None:
    scene = Scene(groups={1: [(1, 2, 3), None], 2: None})
    assert [scene.color(key) for key in ((1, 0), (1, 1), (2, 7))] == [(1, 2, 3), None, None]
    for key, word in (
        ((3, 0), "group 3, which is not defined"),
        ((1, 2), "member 2 of group 1"),
        ((1, -1), "-1"),
    ):
        with pytest.raises(BadFileError, match=word):
            scene.color(key)


@pytest.mark.parametrize(
    ("text", "color"),
    [("#0102fF", (1, 2, 255)), (" #D3202000 ", (211, 32, 32)), ("D32020", None), ("#D3202", None),
     ("#D320200", None),
     ("#D32020000", None), ("#GG0000", None), ("#D32020 #", None)],
)  # fmt: skip
def test_colors_have_six_digits_or_eight(text: str, color: tuple[int, int, int] | None) -> None:
    if color:
        assert parse_color(text) == color
    else:
        with pytest.raises(BadFileError, match="instead of #RRGGBB"):
            parse_color(text)
