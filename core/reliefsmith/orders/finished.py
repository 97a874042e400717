"""Finished sets as they are laid onto beds, quoted and signed: found in folders, verified, read once."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import shapely
from shapely.affinity import affine_transform

from ..checks.bedwork import Bands
from ..checks.layerstack import Layer, in_printing_order, outline_of, turned_over
from ..colorimetry import parse_hex
from ..documents.views import Face, front_face
from ..errors import OutputError, RecipeError, ReliefsmithError
from ..formats import read_parts
from ..formats.setreading import REPORT_SUFFIX, is_printable, read_report, read_set
from ..formats.stems import printable
from ..model import Part, Slab, Stack
from ..model.arrays import Color
from ..recipe import Recipe
from ..recipe.settings import specs

__all__ = ["Finished", "Shape", "common_settings", "found_sets", "set_reports", "stem_of"]

_HEX = re.compile(r"#[0-9a-f]{6}")
_MOST_COPIES = 100  # of what goes with one piece


@dataclass(frozen=True, slots=True)
class Finished:
    """A set that a run wrote, its files as its report says.

    Parameters
    ----------
    name : str
        What pages call it: a row's number, else its stem.
    folder : Path
    stem : str
    report : mapping
    recipe : Recipe
        As it was made with.
    """

    name: str
    folder: Path
    stem: str
    report: Mapping[str, Any]
    recipe: Recipe

    @property
    def printable(self) -> bool:
        """Whether no finding says not to print it."""
        return is_printable(self.report)

    @property
    def size_mm(self) -> tuple[float, float, float]:
        """Width, depth and height of the finished piece."""
        width, depth, height = self.report["size_mm"]
        return width, depth, height

    @property
    def colors(self) -> tuple[Color, ...]:
        """The colors of its filaments, each once."""
        return tuple(dict.fromkeys(color for _, color in self.filaments.values()))

    @property
    def filaments(self) -> dict[str, tuple[str, Color]]:
        """The filament of each part, by its name in the recipe's stock, else by its color."""
        stock = {spool.name: parse_hex(spool.color) for spool in self.recipe.filaments.stock}
        matched = {item["part"]: item["name"] for item in self.report.get("filaments", ())}
        found = {}
        for part in self.report["parts"]:
            name, own = matched.get(part["name"]), part["color"]
            found[part["name"]] = (name, stock[name]) if name in stock else (own, parse_hex(own))
        return found

    def parts(self) -> tuple[Part, ...]:
        """Read the parts from the 3MF, each in the color of its filament."""
        colors = {name: color for name, (_, color) in self.filaments.items()}
        return tuple(
            replace(part, color=colors.get(part.name, part.color))
            for part in read_parts(self.folder / f"{self.stem}.3mf")
        )


@dataclass(frozen=True)
class Shape:
    """A piece as its solids are, cut in its layers.

    Parameters
    ----------
    layers : tuple of Layer
        From the bed up, as printed.
    outline : MultiPolygon
        Of all layers, seen from above.
    colors : dict of part name -> color
    bands : Bands
    volume_mm3 : float
    """

    layers: tuple[Layer, ...]
    outline: shapely.MultiPolygon
    colors: dict[str, Color]
    bands: Bands
    volume_mm3: float

    @cached_property
    def lying(self) -> Face:
        """The piece as it lies on the bed, seen from above."""
        return self._face(self.layers)

    def finished(self, one: Finished) -> Face:
        """Return the finished piece seen from the front, however it was printed."""
        if one.recipe.heights.face == "up":
            return self.lying
        if one.report.get("back_plate_at_mm") is None:
            return self._face(turned_over(self.layers)).mirrored()
        return self._set_together(set(one.report["prints"][0]), one.size_mm[2])

    def _set_together(self, front: Collection[str], height_mm: float) -> Face:
        """Return a piece of two plates: the front plate turned over onto the other, whose outline it has."""
        own, other = self._only(front), self._only(set(self.colors) - set(front))
        (_, low, right, _), (left, other_low, *_) = outline_of(own).bounds, outline_of(other).bounds
        turned = [
            replace(
                layer,
                bottom_mm=height_mm - layer.top_mm,
                top_mm=height_mm - layer.bottom_mm,
                shapes={
                    name: affine_transform(shape, (-1, 0, 0, 1, left + right, other_low - low))
                    for name, shape in layer.shapes.items()
                },
            )
            for layer in own
        ]
        return self._face([*other, *turned])

    def _only(self, names: Collection[str]) -> list[Layer]:
        """Return the layers of some parts."""
        return in_printing_order(self.layers, [list(names)])

    def _face(self, layers: Sequence[Layer]) -> Face:
        slabs = tuple(
            Slab(name, "motif", self.colors[name], shape, layer.bottom_mm, layer.top_mm)
            for layer in layers
            for name, shape in layer.shapes.items()
        )
        return front_face(Stack(slabs, (), (), by_height=True))


def found_sets(
    folders: Sequence[Path], settings: Callable[[Recipe], Recipe] | None = None
) -> tuple[Finished, ...]:
    """Read the sets in folders: of a batch its rows in their order, else the folder itself.

    Parameters
    ----------
    folders : sequence of Path
    settings : callable, optional
        Gives the recipe that a set is taken with, from its own.

    Raises
    ------
    OutputError
        If a folder holds no set, or one whose files are not as its report says.
    """
    found = tuple(_finished(name, path) for name, path in set_reports(folders))
    return found if settings is None else tuple(replace(one, recipe=settings(one.recipe)) for one in found)


def common_settings(found: Sequence[Finished], sections: Sequence[str] = ("printer", "beds")) -> Recipe:
    """Return the settings that all sets share.

    Raises
    ------
    RecipeError
        If sets differ in one of these sections.
    """
    for one in found:
        for section in sections:
            first, other = getattr(found[0].recipe, section), getattr(one.recipe, section)
            for key in specs(type(first)):
                if getattr(first, key) != getattr(other, key):
                    raise RecipeError(
                        f"{found[0].name} and {one.name} differ in {section}.{key}; say which holds with "
                        f"--set {section}.{key}=..., or take them in two runs"
                    )
    return found[0].recipe


def set_reports(folders: Sequence[Path]) -> list[tuple[str, Path]]:
    """Find the reports of the sets in folders, each with what its set is called.

    Raises
    ------
    OutputError
        If a folder holds no set.
    """
    found: list[Path] = []
    for folder in folders:
        if not folder.is_dir():
            raise OutputError(f"there is no folder {printable(folder)}; give a batch's folder, or a set's")
        own = _reports(folder) or [one for path in sorted(folder.iterdir()) for one in _reports(path)]
        if not own:
            raise OutputError(f"{printable(folder)} holds no finished set; make one, or run the batch first")
        found += own
    return _named_apart(found)


def stem_of(report: Path) -> str:
    """Return with what the names of a set's files begin, from its report's."""
    return report.name.removesuffix(REPORT_SUFFIX)


def _reports(folder: Path) -> list[Path]:
    """Return the reports of sets in a folder, which have parts and a frame; other reports have none."""
    if not folder.is_dir():
        return []
    paths = sorted(folder.glob(f"*{REPORT_SUFFIX}"))
    return [path for path in paths if not path.name.startswith(".") and "frame" in read_report(path)]


def _finished(name: str, path: Path) -> Finished:
    folder, stem = path.parent, stem_of(path)
    state = read_set(folder, path.name)
    if not state.is_set:
        raise OutputError(f"{printable(folder)} is no whole set: {state.problems[0]}; make it again")
    if not {f"{stem}.3mf", f"{stem}-recipe.toml"} <= set(state.report["files"]):
        raise OutputError(
            f"{printable(folder)} has no 3MF or no recipe; give the folder of a set from `make`"
        )
    if not _is_sound(state.report):
        raise OutputError(f"the report in {printable(folder)} was changed; make the set again")
    try:
        recipe = Recipe.load(folder / f"{stem}-recipe.toml")
    except ReliefsmithError as error:
        raise RecipeError(f"the recipe in {printable(folder)} cannot be used: {error}") from error
    return Finished(name, folder, stem, state.report, recipe)


def _is_sound(report: Mapping[str, Any]) -> bool:
    """Return whether a report has what is taken from it, of the kind that a run writes."""
    size, prints, cut = report.get("size_mm"), report.get("prints", []), report.get("cut")
    rows = {key: report.get(key, []) for key in ("parts", "filaments", "findings", "accessories")}
    return (
        isinstance(size, list)
        and [type(side) in (int, float) for side in size] == [True] * 3
        and isinstance(prints, list)
        and all(isinstance(names, list) for names in prints)
        and all(isinstance(row, list) and all(isinstance(one, dict) for one in row) for row in rows.values())
        and all({"part", "name"} <= set(one) for one in rows["filaments"])
        and all(isinstance(one.get("message"), str) for one in rows["findings"])
        and all(map(_is_part, rows["parts"]))
        and all(_is_accessory(one) for one in rows["accessories"])
        and (cut is None or _is_cut(cut, report["files"]))
    )


def _is_part(row: object) -> bool:
    return isinstance(row, dict) and bool(_HEX.fullmatch(str(row.get("color")))) and "name" in row


def _is_accessory(row: Mapping[str, Any]) -> bool:
    copies, parts = row.get("copies"), row.get("parts")
    return (
        isinstance(row.get("name"), str)
        and type(copies) is int
        and 1 <= copies <= _MOST_COPIES
        and isinstance(parts, list)
        and all(map(_is_part, parts))
    )


def _is_cut(cut: object, files: Collection[str]) -> bool:
    if not isinstance(cut, dict) or not {"parts", "files"} <= set(cut):
        return False
    parts, names = cut["parts"], cut["files"]
    return (
        isinstance(parts, list)
        and all(isinstance(one, dict) and type(one.get("number")) is int for one in parts)
        and isinstance(names, list)
        and all(name in files for name in names)
    )


def _named_apart(found: Sequence[Path]) -> list[tuple[str, Path]]:
    """Name sets by their row's number, else by their stem, and number those of one name."""
    count: dict[str, int] = {}
    apart = []
    for path in found:
        stem = stem_of(path)
        name = str(int(stem)) if stem.isascii() and stem.isdigit() else stem
        count[name] = count.get(name, 0) + 1
        apart.append((name if count[name] == 1 else f"{name}-{count[name]}", path))
    return apart
