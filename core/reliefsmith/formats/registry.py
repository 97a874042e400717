"""The two registries: which suffix is written from what, and which suffix is read how.

To add a format: write `<name>_bytes` in a module of its own and enter it here; nothing else lists formats.
"""

from __future__ import annotations

import stat
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Protocol

from ..errors import OutputError
from ..model.areas import FlatAreas
from ..model.parts import Part
from .bounds import MAX_FILE_BYTES, BadFileError
from .geojson import areas_geojson
from .stems import printable
from .stl import read_stl
from .svg import areas_svg
from .svg_curves import curved_areas_svg

__all__ = ["AREA_WRITERS", "CURVE_WRITERS", "READERS", "WITHOUT_UNIT", "AreaWriter", "read_parts"]
__all__ += ["read_pieces"]

if TYPE_CHECKING:
    from .threemf_read import BuiltPiece

Reader = Callable[[bytes, str], tuple[Part, ...]]


class AreaWriter(Protocol):
    """Writes areas; without names, each color is named by its plain word."""

    def __call__(self, areas: FlatAreas, names: Sequence[str] | None = None) -> bytes:
        """Return the bytes of one file."""


def _read_threemf(data: bytes, stem: str) -> tuple[Part, ...]:
    # Half of this package only reads 3MF; who writes does without.
    from .threemf_read import read_threemf  # noqa: PLC0415

    return read_threemf(data, stem)


def _read_foreign(kind: str) -> Reader:
    def read(data: bytes, stem: str) -> tuple[Part, ...]:
        from .foreign import read_foreign  # noqa: PLC0415 - as above

        return read_foreign(kind, data, stem)

    return read


READERS: Mapping[str, Reader] = MappingProxyType(
    {".3mf": _read_threemf, ".stl": read_stl}
    | {kind: _read_foreign(kind) for kind in (".obj", ".ply", ".glb", ".off")}
)
WITHOUT_UNIT = (".stl", ".obj", ".ply", ".off")
"""Formats whose numbers have no unit, nor an axis that points up."""
AREA_WRITERS: Mapping[str, AreaWriter] = MappingProxyType({".svg": areas_svg, ".geojson": areas_geojson})
CURVE_WRITERS: Mapping[str, AreaWriter] = MappingProxyType({".svg": curved_areas_svg})


def read_parts(path: Path | str) -> tuple[Part, ...]:
    """Read the parts of a file, in mm, as the file places them.

    Raises
    ------
    OutputError
        If the file cannot be read, is of another kind, is broken or over a limit: one line.

    Examples
    --------
    >>> import tempfile
    >>> import shapely
    >>> from reliefsmith.mesh import prism
    >>> from reliefsmith.model import Part
    >>> plate = prism(shapely.box(0, 0, 30, 20), 0.0, 2.0)
    >>> part = Part("base", "base", (200, 40, 45), plate.vertices, plate.triangles)
    >>> from reliefsmith.formats import stl_bytes
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "plate.stl"
    ...     _ = path.write_bytes(stl_bytes(part))
    ...     found = read_parts(path)
    >>> [(part.name, len(part.triangles)) for part in found]
    [('plate', 12)]
    """
    path = Path(path)
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        raise OutputError(
            f"cannot read parts from {printable(path)}: the name must end in {' or '.join(READERS)}"
        )
    try:
        return reader(_content(path), path.stem)
    except BadFileError as error:
        raise OutputError(f"cannot read {printable(path)}: {error}") from error


def read_pieces(path: Path | str) -> tuple[BuiltPiece, ...]:
    """Read the pieces of a bed; of a file that is none, nothing.

    Raises
    ------
    OutputError
        As `read_parts`.
    """
    from .threemf_read import read_bed  # noqa: PLC0415 - as above

    path = Path(path)
    if path.suffix.lower() != ".3mf":
        return ()
    try:
        return read_bed(_content(path), path.stem)
    except BadFileError as error:
        raise OutputError(f"cannot read {printable(path)}: {error}") from error


def _content(path: Path) -> bytes:
    try:
        # Checked before opening: opening a pipe or a device may wait for ever.
        if not stat.S_ISREG(path.stat().st_mode):
            raise BadFileError("it is not a file; give a file of parts")
        with path.open("rb") as stream:
            data = stream.read(MAX_FILE_BYTES + 1)
    except BadFileError:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not usable"
        raise BadFileError(f"{reason.lower()}; check the name and the permissions") from error
    if len(data) > MAX_FILE_BYTES:
        raise BadFileError(f"it is larger than {MAX_FILE_BYTES >> 20} MiB; export fewer parts")
    if not data:
        raise BadFileError("it is empty; export it again")
    return data
