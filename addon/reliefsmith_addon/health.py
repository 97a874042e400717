# SPDX-License-Identifier: GPL-3.0-or-later
"""Can the add-on work here? Versions first, then a known answer from each bundled library.

All extensions share one folder of unpacked libraries, in which the highest version of each wins, and the
Blender of a distribution may bring libraries of its own: what was bundled need not be what is imported.
"""

from __future__ import annotations

import importlib.metadata
import math
import tomllib
from pathlib import Path

import bpy

_RADIUS_SIDES = 32  # sides of a quarter circle in the known answer
_RELATIVE = 1e-9


def trouble() -> str | None:
    """Return one plain sentence that says why the add-on cannot work, or None."""
    manifest = tomllib.loads((Path(__file__).parent / "blender_manifest.toml").read_text(encoding="utf-8"))
    least = tuple(int(part) for part in manifest["blender_version_min"].split("."))
    if bpy.app.version < least:
        return (
            f"Blender {manifest['blender_version_min']} or newer is needed, this is {bpy.app.version_string}"
        )
    try:
        found = importlib.metadata.version("reliefsmith")
        wrong = _wrong_answers()
    except ImportError as error:
        return f"A bundled library is missing ({error.name}); install the zip for this platform again"
    if found != manifest["version"]:
        return f"The bundled core has version {found}, not {manifest['version']}; install the zip again"
    if wrong:
        return f"Another version of {wrong} is in use here and gives wrong results; update it or remove it"
    return None


def _wrong_answers() -> str | None:
    """Return the name of a bundled library that does not give the answer known from a formula."""
    import numpy as np  # noqa: PLC0415 - a missing library must not stop this module from loading
    import shapely  # noqa: PLC0415
    from PIL import Image  # noqa: PLC0415

    from reliefsmith import Recipe  # noqa: PLC0415

    grown = shapely.box(0, 0, 10, 20).buffer(2, quad_segs=_RADIUS_SIDES).area
    # A rectangle grown by r gains perimeter x r and the polygon that stands for the circle (Steiner).
    circle = 2 * _RADIUS_SIDES * 2**2 * math.sin(math.pi / (2 * _RADIUS_SIDES))
    if not math.isclose(grown, 200 + 60 * 2 + circle, rel_tol=_RELATIVE):
        return "shapely"
    frame = shapely.box(0, 0, 9, 9) - shapely.box(3, 3, 6, 6)
    fill = getattr(shapely, "constrained_delaunay_triangles", None)  # none before shapely 2.1 and GEOS 3.10
    if fill is None or not math.isclose(fill(frame).area, 81 - 9, rel_tol=_RELATIVE):
        return "shapely"
    if np.asarray(Image.new("RGB", (2, 1), (1, 2, 3))).tolist() != [[[1, 2, 3], [1, 2, 3]]]:
        return "Pillow"
    return None if Recipe().heights.base_mm > 0 else "reliefsmith"
