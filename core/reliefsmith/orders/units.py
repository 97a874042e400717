"""What lies on a bed by itself: a whole piece, a part of one that is cut, a thing that goes with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from ..checks.bedwork import bands, volume_mm3
from ..checks.layerstack import cut_layers_steps, outline_of
from ..colorimetry import parse_hex
from ..formats import read_parts
from ..formats.threemf_read import read_bed
from ..model import Part
from ..polygons.packing import Packer
from ..progress import drain
from ..recipe.sections import BedSettings
from .finished import Finished, Shape

__all__ = ["PIECE", "Shapes", "Unit", "units_of"]

PIECE = ("", "part-1")
"""What is counted as a piece: a whole one, or the first part of one that is cut."""


@dataclass(frozen=True)
class Unit:
    """One thing of a finished set that lies on a bed by itself.

    Parameters
    ----------
    one : Finished
    what : str
        Empty for a whole piece, else "part-2", or the name of what goes with a piece, such as "foot".
    number : int
        Of its copies for one piece, from 1.
    """

    one: Finished
    what: str = ""
    number: int = 1

    @property
    def name(self) -> str:
        """What it is called on a bed, the same for its copies."""
        return f"{self.one.name}-{self.what}" if self.what else self.one.name

    @property
    def prints(self) -> Sequence[Sequence[str]]:
        """Parts of each print, where colors are printed one after another."""
        found: Sequence[Sequence[str]] = self.one.report.get("prints") or ()
        return () if self._accessory is not None else found

    @cached_property
    def _accessory(self) -> Mapping[str, Any] | None:
        things: Sequence[Mapping[str, Any]] = self.one.report.get("accessories", ())
        return next((item for item in things if item["name"] == self.what), None)

    def parts(self) -> tuple[Part, ...]:
        """Read its parts from the files of its set, each in the color of its filament."""
        if not self.what:
            return self.one.parts()
        folder, stem = self.one.folder, self.one.stem
        if self._accessory is not None:
            return tuple(
                replace(solid, name=part["name"], color=parse_hex(part["color"]))
                for part in self._accessory["parts"]
                for solid in read_parts(folder / f"{stem}-{part['name']}.stl")
            )
        colors = {name: color for name, (_, color) in self.one.filaments.items()}
        for file in self.one.report["cut"]["files"]:
            for piece in read_bed((folder / file).read_bytes(), stem):
                if piece.name == self.what:
                    names = [part.name.removeprefix(f"{self.what}-") for part in piece.parts]
                    pairs = zip(names, piece.parts, strict=True)
                    return tuple(
                        replace(part, name=name, color=colors.get(name, part.color)) for name, part in pairs
                    )
        return ()


def units_of(one: Finished) -> list[Unit]:
    """Return all that one piece of a set takes on beds: itself or its parts, then what goes with it."""
    cut = one.report.get("cut")
    own = [Unit(one, f"part-{part['number']}") for part in cut["parts"]] if cut else [Unit(one)]
    return own + [
        Unit(one, item["name"], number)
        for item in one.report.get("accessories", ())
        for number in range(1, item["copies"] + 1)
    ]


@dataclass(slots=True)
class Shapes:
    """Shapes of what lies on beds; sets with the same solids are cut once."""

    _known: dict[tuple[object, ...], Shape] = field(default_factory=dict)
    _packers: dict[tuple[tuple[float, float], BedSettings], Packer] = field(default_factory=dict)

    def of(self, unit: Unit) -> Shape:
        """Return the shape of a thing."""
        one, heights = unit.one, unit.one.recipe.heights
        solids = sorted(digest for name, digest in one.report["files"].items() if name.endswith(".stl"))
        filaments = sorted(one.filaments.items())
        key = (unit.what, *solids, *filaments, heights.first_layer_mm, heights.layer_mm)
        if key not in self._known:
            self._known[key] = _shape(unit)
        return self._known[key]

    def packer(self, room_mm: tuple[float, float], beds: BedSettings) -> Packer:
        """Return what lays shapes into a room, the same for the same settings: it remembers what it laid."""
        key = (room_mm, beds)
        if key not in self._packers:
            self._packers[key] = Packer(
                room_mm, spacing_mm=beds.spacing_mm, cell_mm=beds.cell_mm, turns=beds.turn_count
            )
        return self._packers[key]


def _shape(unit: Unit) -> Shape:
    parts, heights = unit.parts(), unit.one.recipe.heights
    layers = drain(cut_layers_steps(parts, heights=heights))
    colors = {part.name: part.color for part in parts}
    return Shape(
        tuple(layers),
        outline_of(layers),
        colors,
        bands(layers, colors, heights, unit.prints),
        volume_mm3(parts),
    )
