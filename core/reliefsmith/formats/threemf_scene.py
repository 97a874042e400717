"""What a 3MF model holds, as read: property groups, mesh objects, objects of components, items to build."""

from __future__ import annotations

import re
from array import array
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from ..model.arrays import Color
from .bounds import MAX_COORDINATE_MM, MAX_INSTANCES, MAX_NESTING, MAX_TRIANGLES, BadFileError

__all__ = ["Instance", "Item", "Matrix", "Object", "Scene", "determinant", "parse_color", "parse_matrix"]

Matrix: TypeAlias = npt.NDArray[np.float64]
"""Rows (4, 3): a point (x, y, z) goes to x row 0 + y row 1 + z row 2 + row 3 (Core 3.3)."""

Property: TypeAlias = tuple[int, int]
"""Id of a property group and the index of one of its members."""

IDENTITY = "1 0 0 0 1 0 0 0 1 0 0 0"
LEAST_DETERMINANT = 1e-12
"""Below it a transform flattens a piece: a scale of 0.0001 each way, far below any unit in use."""
_COLOR = re.compile(r"#([0-9A-Fa-f]{6})(?:[0-9A-Fa-f]{2})?")


@dataclass(slots=True)
class Object:
    """One object: a mesh, or components placed by matrices.

    `instances`, `size` (triangles or vertices, whichever are more) and `depth` include everything below it.
    `scene` is that of the file which defines it, with its property groups.
    """

    scene: Scene
    key: int
    name: str
    kind: str
    default: Property | None
    coordinates: array[float] = field(default_factory=lambda: array("d"))
    corners: array[int] = field(default_factory=lambda: array("q"))
    painted: Counter[Property] = field(default_factory=Counter)
    components: list[tuple[Object, Matrix]] = field(default_factory=list)
    instances: int = 0
    size: int = 0
    depth: int = 1

    def place(self, other: Object, matrix: Matrix) -> None:
        """Add a component, which was defined before; nothing is unfolded until the counts are known."""
        self.components.append((other, matrix))
        self.instances += other.instances
        self.size += other.size
        self.depth = max(self.depth, other.depth + 1)
        if self.instances > MAX_INSTANCES or self.size > MAX_TRIANGLES:
            raise BadFileError(f"object {self.key} is made of too many components or triangles")
        if self.depth > MAX_NESTING:
            raise BadFileError(f"object {self.key} nests components more than {MAX_NESTING} deep")


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to build; with a part number (Core 3.4.3.1) it is a piece of its own."""

    target: Object
    matrix: Matrix
    number: str = ""

    def as_made(self) -> list[Instance]:
        """Return its meshes where the object has them, before the build moves it."""
        return list(_placed(self.target, parse_matrix(None), ""))


@dataclass(frozen=True, slots=True)
class Instance:
    """One mesh as it stands in the build."""

    mesh: Object
    matrix: Matrix
    name: str


@dataclass(slots=True)
class Scene:
    """The whole model.

    Parameters
    ----------
    scale : float
        Millimetres for each unit.
    groups : dict
        Colors of each property group's members; None for a group without plain colors.
    materials : set of int
        Ids of base materials, which must not be mixed over a triangle (Core 4.1.4.1).
    """

    scale: float = 1.0
    groups: dict[int, list[Color | None] | None] = field(default_factory=dict)
    materials: set[int] = field(default_factory=set)
    objects: dict[int, Object] = field(default_factory=dict)
    items: list[Item] = field(default_factory=list)

    def instances(self) -> Iterator[Instance]:
        """Give every mesh of every item with its transforms composed, in the order of the file."""
        for item in self.items:
            yield from _placed(item.target, item.matrix, "")

    def color(self, key: Property) -> Color | None:
        """Return the color of a property; None where it has no plain one.

        Raises
        ------
        BadFileError
            If there is no such property (Core 3.4: defined before it is used).
        """
        group, index = key
        if group not in self.groups:
            raise BadFileError(f"an object refers to property group {group}, which is not defined before it")
        members = self.groups[group]
        if members is None:
            return None
        if not 0 <= index < len(members):
            raise BadFileError(f"an object refers to member {index} of group {group}, which does not exist")
        return members[index]


def _placed(target: Object, matrix: Matrix, name: str) -> Iterator[Instance]:
    if not target.components:
        yield Instance(target, matrix, target.name or name)
    for child, inner in target.components:
        yield from _placed(child, _after(inner, matrix), target.name or name)


def _after(first: Matrix, second: Matrix) -> Matrix:
    """Compose two transforms, by plain sums so that no library's rounding enters."""
    rows: Matrix = first[:, :1] * second[0] + first[:, 1:2] * second[1] + first[:, 2:3] * second[2]
    rows[3] += second[3]
    return rows


def parse_matrix(text: str | None) -> Matrix:
    """Read "m00 m01 ... m32"; None means the identity.

    Raises
    ------
    BadFileError
        If it is not twelve finite numbers, or flattens what it moves.
    """
    words = (IDENTITY if text is None else text).split()
    try:
        values = [float(word) for word in words[:13]]
    except ValueError:
        values = []
    matrix = np.array(values)
    if len(matrix) != 12 or not (np.abs(matrix) <= MAX_COORDINATE_MM).all():
        raise BadFileError("a transform is not twelve usable numbers; export it again")
    matrix = matrix.reshape(4, 3)
    if abs(determinant(matrix)) < LEAST_DETERMINANT:
        raise BadFileError("a transform flattens a part to nothing; export it again")
    return matrix


def determinant(matrix: Matrix) -> float:
    """Return by how much a transform scales volumes; negative if it mirrors."""
    (a, b, c), (d, e, f), (g, h, i) = matrix[:3].tolist()
    return float(a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g))


def parse_color(text: str) -> Color:
    """Read "#RRGGBB" or "#RRGGBBAA"; transparency is left out.

    Raises
    ------
    BadFileError
        If the text is no such color.

    Examples
    --------
    >>> parse_color("#1E8A8AFF")
    (30, 138, 138)
    """
    match = _COLOR.fullmatch(text.strip())
    if match is None:
        raise BadFileError(f"a color is written as {text[:20]!r} instead of #RRGGBB; export it again")
    digits = match[1]
    return int(digits[0:2], 16), int(digits[2:4], 16), int(digits[4:6], 16)
