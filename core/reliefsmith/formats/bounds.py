"""Bounds on files that are read: they come from anywhere, so every cost is known before it is paid."""

from __future__ import annotations

from ..errors import OutputError

__all__ = [
    "MAX_COORDINATE_MM",
    "MAX_ENTRIES",
    "MAX_FILE_BYTES",
    "MAX_INSTANCES",
    "MAX_NAME_CHARS",
    "MAX_NESTING",
    "MAX_OBJECTS",
    "MAX_RATIO",
    "MAX_RESOURCES",
    "MAX_TEXT_BYTES",
    "MAX_TRIANGLES",
    "MAX_UNPACKED_BYTES",
    "MAX_VERTICES",
    "MAX_XML_DEPTH",
    "RATIO_FREE_BYTES",
    "BadFileError",
]

MAX_FILE_BYTES = 256 * 2**20
"""A file on disk; a piece of 100,000 triangles takes 1 to 5 MB."""
MAX_ENTRIES = 1000
"""Entries of a package; ours has four."""
MAX_UNPACKED_BYTES = 256 * 2**20
"""All entries that are unpacked; about four million triangles as text."""
MAX_RATIO = 200
"""Unpacked size over packed size; mesh text reaches 5 to 20, a bomb 1000."""
RATIO_FREE_BYTES = 2**20
"""Entries up to this size may have any ratio: they cannot hurt."""
MAX_XML_DEPTH = 32
"""Nested elements; the specification needs 6."""
MAX_RESOURCES = 10_000
"""Objects, property groups, members of groups, items and components, each."""
MAX_NESTING = 16
"""Objects of components within objects of components."""
MAX_INSTANCES = 10_000
"""Meshes after every component is placed."""
MAX_OBJECTS = 1000
"""Objects and groups of a file that a foreign reader parses: its work is up to objects times vertices."""
MAX_TEXT_BYTES = 32 * 2**20
"""Of OBJ, PLY and OFF, which are read line by line: a piece of a million triangles as text."""
MAX_VERTICES = 4_000_000
MAX_TRIANGLES = 4_000_000
"""In one file, after every component is placed."""
MAX_COORDINATE_MM = 1e6
"""A kilometre: beyond it float64 still works, but no printer does."""
MAX_NAME_CHARS = 200


class BadFileError(OutputError):
    """A file is broken, too large or not what it says; the reader adds the file's name to the message."""
