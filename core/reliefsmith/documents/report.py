"""The report: what a job came to, as plain values that JSON can hold, the same for the same job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ..colorimetry import to_hex
from ..findings import Finding, Note
from ..formats import numbered_members
from ..mesh import mesh_faults
from ..model import Accessory, Fidelity, Filament, FilamentMatch, Hole, Part, PictureId, Pocket, Result
from .letterlist import lettering_mapping, texts_mapping

__all__ = ["REPORT_SCHEMA", "finding_mapping", "note_mapping", "parts_mapping", "picture_member"]
__all__ += ["report_mapping"]

REPORT_SCHEMA = 1

_MM = 3
"""Decimals of a length in mm: the grid is 1 um."""


def report_mapping(result: Result, versions: Mapping[str, str]) -> dict[str, object]:
    """Return the report of a job without its `files`, which the writer of the set adds.

    Lengths are rounded to 1 um, volumes to 0.001 mm3, masses to 1 mg, times to 0.01 min, so that the text
    is the same wherever the values agree to that. No dates, no durations.

    Parameters
    ----------
    result : Result
    versions : mapping of str to str
        Versions of the package and of the libraries that shape its results.
    """
    heights = result.recipe.heights
    return {
        "schema": REPORT_SCHEMA,
        **picture_member(result.picture),
        "size_mm": _size(result),
        "artwork_mm": _numbers(result.plan.artwork_mm, _MM),
        "artwork_kind": result.artwork_kind,
        "frame": _frame(result),
        "numbered": numbered_members(result.areas),
        "face": heights.face,
        "style": result.stack.style,
        "prints": [list(names) for names in result.stack.jobs],
        "back_plate_at_mm": _place(result.stack.back_at_mm),
        "layer_mm": _number(heights.layer_mm, _MM),
        "first_layer_mm": _number(heights.first_layer_mm, _MM),
        "layers": len(result.stack.layer_tops_mm),
        "parts": [_part(part, result) for part in result.parts],
        "hole": None if result.plan.hole is None else _hole(result.plan.hole),
        "holes": [_hole_of(hole) for hole in result.plan.holes],
        "pockets": [_pocket(pocket) for pocket in result.plan.pockets],
        "cut": _cut(result),
        "accessories": [_accessory(item) for item in result.accessories],
        "center_of_mass_mm": _place(result.plan.center_of_mass_mm),
        "color_changes": _changes(result),
        "one_color_per_layer": result.stack.by_height,
        "estimate": _estimate(result),
        "filaments": [_match(item) for item in result.matching.matches],
        "order": _order(result),
        **_approval(result),
        "audience": result.recipe.audience,
        "fidelity": _fidelity(result.fidelity),
        "lettering": lettering_mapping(result),
        "texts": texts_mapping(result),
        "findings": [finding_mapping(item) for item in result.findings],
        "notes": [note_mapping(item) for item in result.notes],
        "versions": {name: versions[name] for name in sorted(versions)},
    }


def parts_mapping(parts: Sequence[Part]) -> list[dict[str, object]]:
    """Return what can be said of solids of any origin, as plain values."""
    return [_solid(part) for part in parts]


def picture_member(picture: PictureId | None) -> dict[str, object]:
    """Return "picture" of a report, which tells later runs whose files these are; nothing if unknown."""
    return {} if picture is None else {"picture": {"name": picture.name, "sha256": picture.sha256}}


def _number(value: float, decimals: int) -> float:
    """Round stably; a negative zero becomes zero."""
    return round(float(value), decimals) + 0.0


def _numbers(values: Sequence[float], decimals: int) -> list[float]:
    return [_number(value, decimals) for value in values]


def _place(at_mm: Sequence[float] | None) -> list[float] | None:
    return None if at_mm is None else _numbers(at_mm, _MM)


def _size(result: Result) -> list[float]:
    """Return width, depth and height of the finished piece: of all parts, if they lie as they are seen."""
    size, parts = result.stack.piece_size_mm, result.parts
    if size is not None:
        return _numbers(size, _MM)
    low = np.min([part.vertices.min(axis=0) for part in parts], axis=0)
    high = np.max([part.vertices.max(axis=0) for part in parts], axis=0)
    return _numbers((high - low).tolist(), _MM)


def _frame(result: Result) -> dict[str, object]:
    frame = result.plan.frame
    return {
        "mm_per_px": _number(frame.mm_per_px, 9),
        "origin_px": _numbers(frame.origin_px, 6),
        "turn_deg": _number(frame.turn_deg, 6),
        "image_px": [int(side) for side in frame.image_px],
        "to_source": [_numbers(frame.to_source[row : row + 3], 12) for row in (0, 3, 6)],
    }


def _part(part: Part, result: Result) -> dict[str, object]:
    estimate = result.inspection.estimate
    return {
        **_solid(part),
        "volume_mm3": _number(estimate.volume_mm3[part.name], 3),
        "mass_g": _number(estimate.mass_g[part.name], 3),
    }


def _solid(part: Part) -> dict[str, object]:
    faults, heights = mesh_faults(part.vertices, part.triangles), part.vertices[:, 2]
    return {
        "name": part.name,
        "role": part.role,
        "color": to_hex(part.color),
        "volume_mm3": _number(faults.volume_mm3, 3),
        "z_mm": _numbers((heights.min(), heights.max()), _MM),
        "watertight": faults.sound,
    }


def _hole(hole: Hole) -> dict[str, object]:
    return {
        "center_mm": _numbers(hole.center_mm, _MM),
        "diameter_mm": _number(hole.diameter_mm, _MM),
        "wall_mm": _number(hole.wall_mm, _MM),
        "hang_angle_deg": _number(hole.hang_angle_deg, 3),
        "origin": hole.origin,
        "rest_mm": _numbers(hole.rest_mm, _MM),
    }


def _hole_of(hole: Hole) -> dict[str, object]:
    """Return a hole with what it is for."""
    slot = None if hole.slot_mm is None else _numbers(hole.slot_mm, _MM)
    return {**_hole(hole), "hardware": hole.hardware, "slot_mm": slot}


def _pocket(pocket: Pocket) -> dict[str, object]:
    left, low, right, high = pocket.polygon.bounds
    return {
        "kind": pocket.kind,
        "side": pocket.side,
        "center_mm": _numbers(((left + right) / 2, (low + high) / 2), _MM),
        "size_mm": _numbers((right - left, high - low), _MM),
        "depth_mm": _number(pocket.depth_mm, _MM),
    }


def _cut(result: Result) -> dict[str, object] | None:
    """Return into which parts a piece is cut and where they lie; None for one that is whole."""
    division = result.plan.division
    if division is None:
        return None
    parts = []
    for one in division.segments:
        x0, y0, x1, y1 = one.outline.bounds
        parts.append(
            {
                "number": one.number,
                "size_mm": _numbers((x1 - x0, y1 - y0), _MM),
                "plate": one.plate,
                "turn_deg": _number(one.turn_deg, _MM),
                "at_mm": _numbers(one.at_mm, _MM),
            }
        )
    return {
        "parts": parts,
        "files": list(division.files(result.stem)),
        "joint": result.recipe.seams.joint,
        "keys": division.keys,
        "clearance_mm": _number(division.clearance_mm, _MM),
    }


def _accessory(item: Accessory) -> dict[str, object]:
    low, high = item.bounds
    return {
        "name": item.name,
        "copies": item.copies,
        "size_mm": _numbers([b - a for a, b in zip(low, high, strict=True)], _MM),
        "parts": parts_mapping(item.parts),
    }


def _changes(result: Result) -> list[dict[str, object]]:
    return [
        {"layer": change.layer, "z_mm": _number(change.z_mm, _MM), "color": to_hex(change.color)}
        for change in result.stack.color_changes
    ]


def _estimate(result: Result) -> dict[str, object]:
    estimate = result.inspection.estimate
    return {
        "time_min": _number(estimate.time_min, 2),
        "attended_min": _number(estimate.attended_min, 2),
        "mass_g": _number(estimate.mass_g_total, 3),
        "cost": _number(estimate.cost, 2),
        "currency": result.recipe.cost.currency,
        "changes": estimate.changes,
        "purge_mm3": _number(estimate.purge_mm3, 3),
        "filament_mm": {name: _number(length, 1) for name, length in sorted(estimate.filament_mm.items())},
    }


def _match(item: FilamentMatch) -> dict[str, object]:
    best = _filament(item.filament, item.delta_e00)
    if best is None:
        best = {"name": None, "color": None, "finish": None, "source": None, "delta_e00": None}
    return {"part": item.part, **best, "second": _filament(item.second, item.second_delta_e00)}


def _filament(filament: Filament | None, delta_e00: float | None) -> dict[str, object] | None:
    if filament is None or delta_e00 is None:
        return None
    return {
        "name": filament.name,
        "color": to_hex(filament.color),
        "finish": filament.finish,
        "source": filament.source,
        "delta_e00": _number(delta_e00, 2),
    }


def _order(result: Result) -> dict[str, object]:
    order = result.recipe.order
    return {
        "title": order.title,
        "customer": order.customer,
        "code": order.code,
        "quantity": order.quantity,
    }


def _approval(result: Result) -> dict[str, object]:
    approval = result.approval
    return {} if approval is None else {"approval": {"digest": approval.digest, "code": approval.code}}


def _fidelity(seen: Fidelity | None) -> dict[str, object] | None:
    if seen is None:
        return None
    lost = [
        {
            "what": item.what,
            "at_mm": _place(item.at_mm),
            "size_mm": _number(item.size_mm, _MM),
            "remedy": item.remedy,
        }
        for item in seen.lost
    ]
    return {
        "edges_kept": _number(seen.edges_kept, 4),
        "paint_right": _number(seen.paint_right, 4),
        "lost": lost,
    }


def finding_mapping(item: Finding) -> dict[str, object]:
    """Return a finding as plain values."""
    return {
        "code": item.code,
        "severity": item.severity.value,
        "message": item.message,
        "at_mm": _place(item.at_mm),
    }


def note_mapping(item: Note) -> dict[str, object]:
    """Return a note as plain values."""
    size = None if item.size_mm is None else _number(item.size_mm, _MM)
    return {"code": item.code, "message": item.message, "at_mm": _place(item.at_mm), "size_mm": size}
