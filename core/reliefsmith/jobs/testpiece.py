"""The files of the coupon: solids, sheet and report as one set, for this printer and these filaments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from .. import formats
from ..colorimetry.words import to_hex
from ..documents.coupon_sheet import Row, coupon_html
from ..formats.setwriting import Claim, given_folder, write_set
from ..progress import Progress, Steps, drained
from ..recipe import Recipe
from ..solid.build import build_steps
from ..solid.coupon import Feature, coupon_steps
from ..walk.output import versions

__all__ = ["STEM", "write_coupon", "write_coupon_steps"]

STEM = "coupon"
_USUAL = Claim()


def write_coupon_steps(folder: str | Path, recipe: Recipe, claim: Claim = _USUAL) -> Steps[Mapping[str, Any]]:
    """Write the test piece into a folder in small steps, the report last; the value is the report.

    Parameters
    ----------
    folder : path
    recipe : Recipe
        Its layers, nozzle, machine model and filaments are used.
    claim : Claim
        What may be replaced beside an earlier test piece.

    Raises
    ------
    GeometryError
        If its layers are higher than the nozzle can lay.
    TakenError
        If another file would be replaced; then nothing is written.
    OutputError
        If a file cannot be written; then no new file is left.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     report = write_coupon(folder, Recipe())
    >>> len(report["parts"])
    3
    """
    folder = given_folder(folder)
    heights = recipe.heights
    piece = yield from coupon_steps(heights=heights, printer=recipe.printer, filaments=recipe.filaments)
    parts = yield from build_steps(piece.stack)
    rows = [
        Row(letter, kind, tuple(size for size, _ in found), found[0][1])
        for letter, (kind, found) in zip("ABCDEFG", _by_kind(piece.features).items(), strict=True)
    ]
    yield Progress("writing the files", 0.8)
    files = {f"{STEM}.3mf": formats.threemf_bytes(parts, title="Test piece")}
    files |= {f"{STEM}-{part.name}.stl": formats.stl_bytes(part) for part in parts}
    files[f"{STEM}.glb"] = formats.glb_bytes(parts)
    files[f"{STEM}-sheet.html"] = coupon_html(
        piece.stack,
        rows,
        colors=(piece.dark, piece.light),
        layer_mm=heights.layer_mm,
        first_layer_mm=heights.first_layer_mm,
        stem=STEM,
    )
    files[f"{STEM}-recipe.toml"] = recipe.to_toml().encode()
    report = {
        "schema": 1,
        "kind": "coupon",
        "layer_mm": heights.layer_mm,
        "first_layer_mm": heights.first_layer_mm,
        "parts": [{"name": part.name, "role": part.role, "color": to_hex(part.color)} for part in parts],
        "color_changes": [
            {"layer": change.layer, "z_mm": round(change.z_mm, 3), "color": to_hex(change.color)}
            for change in piece.stack.color_changes
        ],
        "features": [
            {"row": row.letter, "kind": row.kind, "sizes": list(row.sizes), "at_mm": list(row.at_mm)}
            for row in rows
        ],
        "versions": versions(),
    }
    return write_set(folder, files, f"{STEM}-report.json", report, claim)


write_coupon = drained(write_coupon_steps)


def _by_kind(features: Sequence[Feature]) -> dict[str, list[tuple[float, tuple[float, float]]]]:
    """Return the sizes and centres of features, by their kind."""
    found: dict[str, list[tuple[float, tuple[float, float]]]] = {}
    for item in features:
        place = item.shape.centroid
        found.setdefault(item.kind, []).append((item.size, (round(place.x, 3), round(place.y, 3))))
    return found
