"""Write binary STL, read binary and text STL: millimetres, outward normals."""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt

from ..errors import GeometryError
from ..model.parts import Part
from .bounds import MAX_TRIANGLES, BadFileError
from .roles import ReadMesh, as_parts, merged

__all__ = ["FACET", "HEADER_BYTES", "read_stl", "stl_bytes"]

HEADER_BYTES, COUNT_BYTES = 80, 4
_BLANKS = re.compile(r"\s*")
_VERTEX_WORDS = ("vertex", "", "", "")
_FACET_WORDS = ("facet", "normal", "", "", "", "outer", "loop", *(_VERTEX_WORDS * 3), "endloop", "endfacet")
"""The words of one facet of the text form; empty where a number stands."""
_COORDINATE_PLACES = (8, 9, 10, 12, 13, 14, 16, 17, 18)
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
"""One facet of 50 bytes, as published with the format in 1989: normal, three corners, an attribute of 0."""


def stl_bytes(part: Part) -> bytes:
    """Write one part as binary STL in mm.

    The header names the part; it does not begin with "solid", which would announce the text form.

    Raises
    ------
    GeometryError
        If the part has no triangles or a coordinate is not finite.

    Examples
    --------
    >>> corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]], dtype=np.int32)
    >>> len(stl_bytes(Part("base", "base", (0, 0, 0), corners, faces)))
    284
    """
    if not len(part.triangles) or not np.isfinite(part.vertices).all():
        raise GeometryError(f"part {part.name} is empty or has coordinates that are not numbers")
    facets = np.zeros(len(part.triangles), dtype=FACET)
    facets["corners"] = part.vertices[part.triangles]
    # Of the corners as they are written: rounding turns slivers, and readers compare.
    facets["normal"] = _unit_normals(facets["corners"].astype(np.float64))
    name = part.name.encode("ascii", "replace")
    header = (b"binary STL in millimeters: " + name)[:HEADER_BYTES].ljust(HEADER_BYTES, b" ")
    return header + len(facets).to_bytes(4, "little") + facets.tobytes()


def _unit_normals(corners: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return outward unit normals (m, 3); zero for a triangle without area, as readers expect."""
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.sqrt((normals * normals).sum(axis=1, keepdims=True))
    unit: npt.NDArray[np.float64] = np.divide(normals, length, out=np.zeros_like(normals), where=length > 0)
    return unit


def read_stl(data: bytes, stem: str) -> tuple[Part, ...]:
    """Read binary or text STL; a unit is taken for a millimetre, equal corners are merged.

    Parameters
    ----------
    data : bytes
    stem : str
        Name for solids that the file does not name.

    Raises
    ------
    BadFileError
        If the file is cut off, is not STL, or is over a limit.
    """
    if _is_binary(data):
        facets = np.frombuffer(data, dtype=FACET, offset=HEADER_BYTES + COUNT_BYTES)
        with np.errstate(invalid="ignore"):  # a signalling NaN; `merged` refuses it
            corners = facets["corners"].astype(np.float64)
        return as_parts([merged(stem, corners)], stem)
    if data.lstrip()[:5].lower() == b"solid":
        return as_parts(_text_solids(data), stem)
    raise BadFileError("it is no STL or is cut off: its length does not fit its count of triangles")


def _is_binary(data: bytes) -> bool:
    """Tell by the length, because some programs begin the binary form with "solid" too."""
    start = HEADER_BYTES + COUNT_BYTES
    count = int.from_bytes(data[HEADER_BYTES:start], "little")
    return len(data) == start + count * FACET.itemsize


def _text_solids(data: bytes) -> list[ReadMesh]:
    """Read the text form in one pass, without patterns that could be made to backtrack."""
    text = data.decode("latin-1")
    lower = text.lower()
    solids = []
    place = _skip_blanks(lower, 0)
    while place < len(text):
        line_end = lower.find("\n", place)
        stop = lower.find("endsolid", line_end)
        if not lower.startswith("solid", place) or min(line_end, stop) < 0:
            raise BadFileError("its text is no STL or is cut off; export it again")
        name = text[place + len("solid") : line_end]
        solids.append(merged(name, _text_corners(lower[line_end:stop].split())))
        after = lower.find("\n", stop)
        place = len(text) if after < 0 else _skip_blanks(lower, after)
    return solids


def _skip_blanks(text: str, place: int) -> int:
    match = _BLANKS.match(text, place)
    return match.end() if match else place


def _text_corners(words: list[str]) -> npt.NDArray[np.float64]:
    width = len(_FACET_WORDS)
    fits = len(words) % width == 0 and all(
        set(words[index::width]) <= {word} for index, word in enumerate(_FACET_WORDS) if word
    )
    if not fits:
        raise BadFileError("its text holds something that is no triangle, or is cut off; export it again")
    if len(words) // width > MAX_TRIANGLES:
        raise BadFileError(f"it has more than {MAX_TRIANGLES} triangles; export fewer")
    try:
        columns = [[float(word) for word in words[index::width]] for index in _COORDINATE_PLACES]
    except ValueError as error:
        raise BadFileError("its text has a coordinate that is no number; export it again") from error
    return np.array(columns, dtype=np.float64).T.reshape(-1, 3, 3)
