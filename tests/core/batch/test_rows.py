"""Rows of a table or a folder: every cell is checked before anything starts, faults name row and column."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reliefsmith.batch.rows import chosen, read_rows, row_recipes
from reliefsmith.errors import RecipeError
from reliefsmith.recipe import Recipe
from reliefsmith.recipe.asked import asked_recipe


def recipe(path: Path | None, preset: str | None, values: Mapping[str, Any]) -> Recipe:
    """A command's recipe with a border of its own, as the command line puts it together."""
    return asked_recipe(path, preset, sets=["base.border_mm=1.5"]).with_values(values)


@pytest.fixture
def table(tmp_path: Path) -> Any:
    (tmp_path / "kite.png").write_bytes(b"one")
    (tmp_path / "reed.toml").write_text("[base]\nborder_mm = 4\n[heights]\nbase_mm = 1.6\n")

    def write(text: str, encoding: str = "utf-8") -> Path:
        path = tmp_path / "day.csv"
        path.write_text(text, encoding=encoding)
        return path

    return write


def test_a_row_has_its_picture_copies_and_settings_over_those_of_the_command(table: Any) -> None:
    path = table(
        "picture,copies,order.customer,base.border_mm,colors.base,hang.at_mm\n"
        'kite.png,3,"Tobin, Mirabel",2.25,#1e8a8a,"[1, 2.5]"\n'
        "\n"
        "kite.png,,2026,,,\n"
    )
    first, second = read_rows(path, recipe)
    assert (first.number, first.name, first.picture) == (1, "0001", path.parent / "kite.png")
    assert first.recipe.order.quantity == 3
    assert first.recipe.order.customer == "Tobin, Mirabel"
    assert first.recipe.base.border_mm == 2.25
    assert first.recipe.colors.base == "#1e8a8a"
    assert first.recipe.hang.at_mm == (1, 2.5)
    assert second.number == 2
    assert second.recipe.order.customer == "2026"
    assert second.recipe.base.border_mm == 1.5


def test_a_rows_own_recipe_and_preset_stand_in_place_of_the_commands(table: Any) -> None:
    path = table("picture,recipe,preset,base.rim_mm\nkite.png,reed.toml,,\nkite.png,,,1\n")
    first, second = read_rows(path, recipe)
    assert (first.recipe.heights.base_mm, first.recipe.base.border_mm) == (1.6, 1.5)
    assert (second.recipe.heights.base_mm, second.recipe.base.rim_mm) == (2.0, 1.0)


def test_a_row_has_a_size_of_its_own_whichever_side_its_recipe_gives(table: Any) -> None:
    path = table("picture,recipe,size.width_mm\nkite.png,high.toml,40\nkite.png,high.toml,\nkite.png,,55\n")
    (path.parent / "high.toml").write_text("[size]\nheight_mm = 90\n")
    sizes = [(row.recipe.size.width_mm, row.recipe.size.height_mm) for row in read_rows(path, recipe)]
    assert sizes == [(40, None), (None, 90), (55, None)]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("mark", [",", ";"])
def test_tables_of_office_programs_are_read(table: Any, encoding: str, mark: str) -> None:
    text = "picture,order.title\r\nkite.png,Élan\r\n".replace(",", mark)
    (row,) = read_rows(table(text, encoding), recipe)
    assert row.recipe.order.title == "Élan"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("picture\nkit.png\n", "row 1 (line 2), column picture: there is no picture '...'; check the name"),
        ("picture,base.border_mm\nkite.png,1\n,2\n", "row 2 (line 3), column picture: it is empty"),
        ("picture,base.border_mm\nkite.png,wide\n", "row 1 (line 2), column base.border_mm: "),
        ("picture,base.border_mm\nkite.png,900\n", "base.border_mm must be between 0 and 50"),
        ("picture,copies\nkite.png,0\n", "(line 2), column copies: order.quantity must be between 1"),
        ("picture,preset\nkite.png,kitte\n", "row 1 (line 2), column preset: there is no preset 'kitte'"),
        ("picture,recipe\nkite.png,reeds.toml\n", "row 1 (line 2), column recipe: there is no recipe at"),
        ("picture,size.width_mm,size.height_mm\nkite.png,40,50\n", "row 1 (line 2): size.width_mm and"),
        ("picture,base.boarder_mm\nkite.png,1\n", "which is no setting, did you mean base.border_mm?"),
        ("pictur\nkite.png\n", "did you mean picture?"),
        ("base.border_mm\n1\n", "no column picture"),
        ("picture,copies,order.quantity\nkite.png,1,1\n", "the column copies twice"),
        ("picture,\nkite.png,1\n", "a column without a name"),
        ("picture\nkite.png,1\n", "row 1 (line 2) has 2 cells, and the table 1 columns"),
        ('picture\n"kite.png\n', "line 2 is no CSV"),
        ("picture\n", "has a header and no rows"),
        ("", "no column picture"),
    ],
)  # fmt: skip
def test_a_fault_names_its_row_and_column(table: Any, text: str, words: str) -> None:
    with pytest.raises(RecipeError) as told:
        read_rows(table(text), recipe)
    assert words in str(told.value)


def test_what_a_cell_holds_is_quoted_only_where_that_is_asked_for(table: Any) -> None:
    for text in (
        "picture,order.customer,base.border_mm\nkite.png,Mirabel Tobin,Mirabel\n",
        "picture,recipe\nkite.png,Mirabel.toml\n",
        "picture\nMirabel.png\n",
        "picture,hang.at_mm\nkite.png,O'Mirabel\n",
    ):
        with pytest.raises(RecipeError) as told:
            read_rows(table(text), recipe)
        assert "Mirabel" not in str(told.value)
        assert "row 1 (line 2), column " in str(told.value)
        with pytest.raises(RecipeError, match="Mirabel"):
            read_rows(table(text), recipe, named=True)


def test_a_row_has_the_number_that_it_is_given(table: Any) -> None:
    rows = read_rows(table("row,picture\n7,kite.png\n2,kite.png\n"), recipe)
    assert [(row.number, row.name) for row in rows] == [(2, "0002"), (7, "0007")]
    assert [row.number for row in chosen(rows, "2-7")] == [2, 7]
    for cell in ("0", "-1", "x", "1.5", "9" * 11):
        with pytest.raises(RecipeError, match=r"row 1 \(line 2\), column row: it is no whole number"):
            read_rows(table(f"row,picture\n{cell},kite.png\n"), recipe)
    with pytest.raises(RecipeError, match="another row has the number 2"):
        read_rows(table("row,picture\n2,kite.png\n,kite.png\n"), recipe)


def test_the_first_faults_are_told_in_full_and_the_others_counted(table: Any) -> None:
    text = "picture,base.border_mm\n" + "kite.png,wide\n" * 5 + "kite.png,1\n"
    with pytest.raises(RecipeError, match=r"row 1 .*; row 2 .*; row 3 .*; and 2 more rows"):
        read_rows(table(text), recipe)


def test_what_is_no_table_is_refused(table: Any, tmp_path: Path) -> None:
    with pytest.raises(RecipeError, match="no table or folder at"):
        read_rows(tmp_path / "none.csv", recipe)
    with pytest.raises(RecipeError, match="no text in UTF-8"):
        read_rows(table("picture\nÉlan.png\n", "latin-1"), recipe)
    (tmp_path / "empty").mkdir()
    with pytest.raises(RecipeError, match="no picture in the folder"):
        read_rows(tmp_path / "empty", recipe)


def test_a_folder_is_a_row_for_each_picture_by_name(tmp_path: Path) -> None:
    for name in ("b.PNG", "a.svg", ".hidden.png", "notes.txt", "c.jpeg"):
        (tmp_path / name).write_bytes(b"")
    (tmp_path / "d.png").mkdir()
    rows = read_rows(tmp_path, recipe)
    assert [(row.number, row.picture.name) for row in rows] == [(1, "a.svg"), (2, "b.PNG"), (3, "c.jpeg")]
    assert {row.recipe.base.border_mm for row in rows} == {1.5}


_NAMES = st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")), min_size=1, max_size=60)


@given(names=st.lists(_NAMES.filter(str.strip), min_size=1, max_size=8))
def test_any_name_comes_back_as_the_table_holds_it(tmp_path_factory: Any, names: list[str]) -> None:
    folder = tmp_path_factory.mktemp("names")
    (folder / "kite.png").write_bytes(b"")
    with (folder / "day.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["picture", "order.customer"])
        writer.writerows(["kite.png", name] for name in names)
    rows = read_rows(folder / "day.csv", recipe)
    assert [row.recipe.order.customer for row in rows] == [name.strip() for name in names]


def test_columns_reach_single_tables_of_a_list(table: Any, tmp_path: Path) -> None:
    (tmp_path / "reed.toml").write_text('marks = [{kind = "border", at_mm = [1, 2], value = 4}]\n')
    path = table(
        "picture,recipe,marks.1.value,marks.2.kind,marks.2.at_mm,filaments.stock.1.name,filaments.stock.1.color\n"
        "kite.png,reed.toml,3,,,007,#1b2a49\n"
        'kite.png,reed.toml,,protect,"[3, 4]",,\n'
        "kite.png,,,,,,\n"
    )
    first, second, third = read_rows(path, row_recipes(None, None, None))
    assert [(mark.kind, mark.value) for mark in first.recipe.marks] == [("border", 3.0)]
    assert first.recipe.filaments.stock[0].name == "007"
    assert [(mark.kind, mark.at_mm) for mark in second.recipe.marks] == [
        ("border", (1, 2)),
        ("protect", (3, 4)),
    ]
    assert third.recipe == Recipe()
    for text, words in (
        ("picture,marks.1.kind\nkite.png,protekt\n", "column marks.1.kind: marks.1.kind must be one of"),
        ("picture,marks.1.kind\nkite.png,protect\n", "row 1 (line 2): marks entry 1: "),
        ("picture,marks.2.kind\nkite.png,erase\n", "marks.2.kind is given, and marks has 0; number them"),
        ("picture,marks.1.kin\nkite.png,erase\n", "which is no setting, did you mean marks.1.kind?"),
        ("picture,base.1.rim_mm\nkite.png,2\n", "which is no setting"),
    ):  # fmt: skip
        with pytest.raises(RecipeError) as told:
            read_rows(table(text), row_recipes(None, None, None))
        assert words in str(told.value)
    sets = ['marks=[{kind = "erase", at_mm = [1, 2]}]', "marks.1.kind=protect"]
    assert asked_recipe(None, None, sets=sets).marks[0].kind == "protect"


@pytest.mark.parametrize(
    ("numbers", "found"), [(None, [1, 2, 3, 4]), ("2", [2]), ("4,1-2", [1, 2, 4]), (" 2 - 3 ", [2, 3])]
)
def test_single_rows_are_chosen_by_their_numbers(table: Any, numbers: str | None, found: list[int]) -> None:
    rows = read_rows(table("picture\n" + "kite.png\n" * 4), recipe)
    assert [row.number for row in chosen(rows, numbers)] == found


@pytest.mark.parametrize("numbers", ["", "0", "5", "3-2", "x", "1,", "-2", "1-", "²", "9" * 5000])
def test_numbers_that_no_row_has_are_refused(table: Any, numbers: str) -> None:
    rows = read_rows(table("picture\n" + "kite.png\n" * 4), recipe)
    with pytest.raises(RecipeError, match="--rows"):
        chosen(rows, numbers)
