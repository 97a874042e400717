"""Read 3MF: core specification, base materials, color groups and their combinations, models in several files.

Sources: 3MF Core Specification 1.4.0 ("Core"), Materials and Properties Extension 1.2.1 ("Materials"),
Production Extension 1.2 ("Production"), https://github.com/3MFConsortium.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from ..model.parts import Part
from .package import Package
from .roles import as_parts
from .threemf_grammar import SUPPORTS
from .threemf_reader import ModelReader
from .threemf_scene import Item, Scene
from .threemf_solids import read_mesh

__all__ = ["BuiltPiece", "read_bed", "read_threemf"]


@dataclass(frozen=True, slots=True)
class BuiltPiece:
    """A piece of a bed.

    Parameters
    ----------
    number : str
        Of this one piece.
    name : str
        Of its object, which copies share.
    parts : tuple of Part
        As the object has them; copies share them.
    moved : tuple of six float
        How the build moves it seen from above, as `shapely.affinity.affine_transform` takes it.
    """

    number: str
    name: str
    parts: tuple[Part, ...]
    moved: tuple[float, ...]


def read_threemf(data: bytes, stem: str) -> tuple[Part, ...]:
    """Read the parts that a 3MF file builds, in mm, where the build puts them.

    Parameters
    ----------
    data : bytes
    stem : str
        Name for parts that the file does not name.

    Raises
    ------
    BadFileError
        If the file is broken, over a limit, or breaks a rule on which its meaning depends.
    """
    scene = _scene(data)
    solids = [one for one in scene.instances() if one.mesh.kind not in SUPPORTS]
    return as_parts([read_mesh(one) for one in solids], stem)


def read_bed(data: bytes, stem: str) -> tuple[BuiltPiece, ...]:
    """Read the pieces that a 3MF file builds, if it is a bed: each item has a part number.

    Raises
    ------
    BadFileError
        As `read_threemf`.
    """
    items = _scene(data).items
    if not all(item.number for item in items):
        return ()
    made: dict[int, tuple[Part, ...]] = {}
    for item in items:
        if item.target.key not in made:
            solids = [one for one in item.as_made() if one.mesh.kind not in SUPPORTS]
            made[item.target.key] = as_parts([read_mesh(one) for one in solids], stem)
    return tuple(
        BuiltPiece(item.number, item.target.name or stem, made[item.target.key], _plane(item))
        for item in items
    )


def _plane(item: Item) -> tuple[float, ...]:
    """Return how the build moves a piece seen from above, in mm."""
    rows, scale = item.matrix, item.target.scene.scale
    turned = (rows[0, 0], rows[1, 0], rows[0, 1], rows[1, 1])
    return (*map(float, turned), float(rows[3, 0] * scale), float(rows[3, 1] * scale))


def _scene(data: bytes) -> Scene:
    package = Package(data)
    counts: Counter[str] = Counter()
    others: dict[str, Scene] = {}

    def load(path: str) -> Scene:
        """Read another model of the package, once; it cannot load further ones."""
        if path not in others:
            others[path] = ModelReader(counts).read(package.entry(path.removeprefix("/")))
        return others[path]

    return ModelReader(counts, load).read(package.entry(package.start))
