"""Existing parts checked: read from files or given, judged as printed, and against those that were made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from ..checks import independent as layers
from ..checks import remade
from ..checks.layerstack import outline_steps
from ..checks.lying import lying_findings
from ..checks.saferepair import repaired
from ..findings import Finding, finding
from ..formats import WITHOUT_UNIT, read_parts, read_pieces
from ..model import Part
from ..progress import Steps, drain
from ..walk.inputs import GivenRecipe, as_recipe

__all__ = ["check_bed", "check_files", "check_parts", "check_parts_steps", "read_files"]


def check_files(files: Sequence[str | Path], recipe: GivenRecipe = None) -> tuple[Finding, ...]:
    """Check the parts in files (3MF, STL, OBJ, PLY, GLB, OFF), taken together as one piece.

    Raises
    ------
    ReliefsmithError
        In one plain line, if a file cannot be read.

    Examples
    --------
    >>> import tempfile
    >>> import numpy as np
    >>> from reliefsmith import make
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     _ = make(picture).write(folder)
    ...     found = check_files(sorted(Path(folder).glob("*.3mf")))
    >>> [item.code for item in found]
    []
    """
    paths = [Path(file) for file in files]
    if len(paths) == 1 and (found := check_bed(paths[0], recipe)) is not None:
        return found
    parts, said = read_files(paths)
    return (*said, *check_parts(parts, recipe))


def read_files(
    files: Sequence[str | Path], *, repair: bool = False
) -> tuple[tuple[Part, ...], tuple[Finding, ...]]:
    """Read parts from files, repaired where that is safe and asked for; and say what was assumed and done.

    Raises
    ------
    ReliefsmithError
        In one plain line, if a file cannot be read.
    """
    paths = [Path(path) for path in files]
    parts, said = repaired([part for path in paths for part in read_parts(path)], is_asked=repair)
    bare = sorted({path.suffix.lower()[1:].upper() for path in paths if path.suffix.lower() in WITHOUT_UNIT})
    if bare:
        words = f"{' and '.join(bare)} files have no unit: millimeters and z up are assumed."
        said = (finding("unit-assumed", words), *said)
    return parts, said


def check_parts_steps(
    parts: Sequence[Part], recipe: GivenRecipe = None, *, made: Sequence[Part] = ()
) -> Steps[tuple[Finding, ...]]:
    """Check solids, taken together as one piece; against those that were `made`, if they are given."""
    asked = as_recipe(recipe)
    heights = asked.heights
    found = yield from layers.check_parts_steps(
        parts,
        printer=asked.printer,
        heights=heights,
        audience=asked.audience,
        hangs=asked.hang.hardware != "none",
    )
    return (*found, *(yield from remade.compare_parts_steps(made, parts, heights))) if made else found


def check_bed(file: Path, recipe: GivenRecipe = None) -> tuple[Finding, ...] | None:
    """Check each different piece of a bed by itself, and how they lie; None where a file is no bed.

    Raises
    ------
    ReliefsmithError
        In one plain line, if the file cannot be read.
    """
    pieces = read_pieces(file)
    if not pieces:
        return None
    asked = as_recipe(recipe)
    found: list[Finding] = []
    outlines: dict[str, BaseGeometry] = {}
    for piece in {piece.name: piece for piece in pieces}.values():
        outlines[piece.name] = drain(outline_steps(piece.parts, heights=asked.heights))
        own = check_parts(piece.parts, asked)
        found += [replace(item, message=f"{piece.name}: {item.message}") for item in own]
    placed = [affine_transform(outlines[piece.name], piece.moved) for piece in pieces]
    lying = lying_findings(placed, bed_mm=asked.printer.bed_mm, spacing_mm=asked.beds.spacing_mm)
    return (*found, *lying)


def check_parts(
    parts: Sequence[Part], recipe: GivenRecipe = None, *, made: Sequence[Part] = ()
) -> tuple[Finding, ...]:
    """Check solids in one go, as `check_parts_steps` does.

    Examples
    --------
    >>> import numpy as np
    >>> from reliefsmith import make
    >>> picture = np.full((60, 90, 3), 255, dtype=np.uint8)
    >>> picture[10:50, 20:70] = 200, 40, 45  # a red field on paper
    >>> relief = make(picture)
    >>> [item.code for item in check_parts(relief.parts[1:], made=relief.parts)]
    ['hole-missing', 'part-missing']
    """
    return drain(check_parts_steps(parts, recipe, made=made))
