"""Finished sets made of two boxes each, without a picture: written as a run writes them, in milliseconds."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import shapely

import pieces
from reliefsmith.colorimetry import to_hex
from reliefsmith.formats.setwriting import write_set
from reliefsmith.formats.stl import stl_bytes
from reliefsmith.formats.threemf import threemf_bytes
from reliefsmith.orders.finished import Finished, found_sets
from reliefsmith.recipe import Recipe
from reliefsmith.walk.approval import approval_of

__all__ = ["DEPTH_MM", "WHITE", "finding", "made_set"]

WHITE, RED = (244, 244, 240), (200, 30, 30)
DEPTH_MM, BASE_MM, TOP_MM = 12.0, 2.0, 2.6


def made_set(
    folder: Path, stem: str, width: float = 20.0, *, top: tuple[int, int, int] = RED, **said: Any
) -> Finished:
    """Write a plate with a small box on it into a folder of its own, and read it.

    Parameters
    ----------
    folder : Path
    stem : str
    width : float
        Of the plate, in mm.
    top : color
        Of the box.
    said : keywords
        `findings` and other members of the report; settings of the recipe, as `order__quantity=3`.
    """
    settings = {key.replace("__", "."): said.pop(key) for key in list(said) if "__" in key}
    recipe = Recipe().with_values({"beds.cell_mm": 1.0, **settings})
    solids = (
        pieces.part("base", WHITE, shapely.box(0, 0, width, DEPTH_MM), (0.0, BASE_MM)),
        pieces.part("red", top, shapely.box(2, 2, 6, 6), (BASE_MM, TOP_MM)),
    )
    files = {f"{stem}-{part.name}.stl": stl_bytes(part) for part in solids}
    files |= {
        f"{stem}.3mf": threemf_bytes(solids, title=stem),
        f"{stem}-recipe.toml": recipe.to_toml().encode(),
    }
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    approval = approval_of(stem, digests, recipe)
    report: Mapping[str, Any] = {
        "schema": 1,
        "frame": {},
        "picture": {"name": f"{stem}.png", "sha256": "0" * 64},
        "size_mm": [width, DEPTH_MM, TOP_MM],
        "parts": [{"name": part.name, "color": to_hex(part.color)} for part in solids],
        "findings": [],
        "approval": {"digest": approval.digest, "code": approval.code},
        **said,
    }
    write_set(folder / stem, files, f"{stem}-report.json", report)
    (one,) = found_sets([folder / stem])
    return one


def finding(code: str, message: str, severity: str = "warning") -> dict[str, Any]:
    """Return a finding as reports have it."""
    return {"code": code, "severity": severity, "message": message, "at_mm": None}
