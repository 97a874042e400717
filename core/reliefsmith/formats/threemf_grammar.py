"""The grammar of a 3MF model part that the reader holds: units, kinds of objects, what may stand where."""

from __future__ import annotations

from .threemf import CORE, MATERIALS

__all__ = [
    "AFTER",
    "CHILDREN",
    "KINDS",
    "LEAST_TRIANGLES",
    "MAX_ID",
    "MM_PER_UNIT",
    "NEEDS",
    "ONCE",
    "PRODUCTION",
    "SUPPORTS",
    "UNDERSTOOD",
]

MM_PER_UNIT = {
    "micron": 0.001,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": 25.4,
    "foot": 304.8,
    "meter": 1000.0,
}
"""The units of Core 3.4 (ST_Unit)."""
KINDS = ("model", "solidsupport", "support", "surface", "other")
SUPPORTS = ("solidsupport", "support")
"""Kinds that a reader may leave out (Core 4)."""
LEAST_TRIANGLES = 4
"""A closed body has four faces or more (Core 4.1.4)."""
MAX_ID = 2**31 - 1
TRIANGLE_SETS = "http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
UNDERSTOOD = (CORE, MATERIALS, PRODUCTION, TRIANGLE_SETS)
"""Extensions that may be required: triangle sets only group triangles and change no shape."""


def _core(*names: str) -> tuple[str, ...]:
    return tuple(f"{CORE} {name}" for name in names)


def _materials(*names: str) -> tuple[str, ...]:
    return tuple(f"{MATERIALS} {name}" for name in names)


_COLORLESS = ("texture2dgroup", "compositematerials")
"""Property groups without plain colors; their members may be referred to."""
CHILDREN = {
    "": _core("model"),
    "model": _core("metadata", "resources", "build"),
    "resources": _core("basematerials", "object") + _materials("colorgroup", "multiproperties", *_COLORLESS),
    "basematerials": _core("base"),
    "colorgroup": _materials("color"),
    "multiproperties": _materials("multi"),
    "object": _core("metadatagroup", "mesh", "components"),
    "mesh": _core("vertices", "triangles"),
    "vertices": _core("vertex"),
    "triangles": _core("triangle"),
    "components": _core("component"),
    "metadatagroup": _core("metadata"),
    "build": _core("item"),
    "item": _core("metadatagroup"),
}
"""Which element may stand in which; any other of the core namespace is an error (Core 2.3.2)."""
ONCE = ("resources", "build", "mesh", "components", "vertices", "triangles")
AFTER = {"build": "resources", "triangles": "vertices"}
NEEDS = {"model": ("resources", "build"), "mesh": ("vertices", "triangles")}
