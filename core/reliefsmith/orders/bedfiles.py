"""The files of the beds: a 3MF and a map for each, a page, and the report that the next run goes on from."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

from ..colorimetry import to_hex
from ..documents.bed_map import MapPiece, bed_map_png
from ..documents.beds_page import WHAT, beds_html
from ..documents.report import finding_mapping
from ..errors import OutputError
from ..findings import Finding, finding
from ..formats.claims import Claim, given_folder
from ..formats.setreading import REPORT_SUFFIX, read_set
from ..formats.setwriting import write_set
from ..formats.stems import printable
from ..formats.threemf_bed import BedPiece, Spot, bed_threemf_bytes
from ..model import Part
from ..recipe import Recipe
from .beds import Bed, Laid, again, copies, lay
from .cautioned import row_cautions
from .finished import Finished
from .units import Shapes

__all__ = ["findings_of", "write_beds"]

KIND = "beds"
REPORT = f"beds{REPORT_SUFFIX}"
PAGE = "beds.html"
_MM, _MIN = 3, 2


def write_beds(
    sets: Sequence[Finished], output: str, settings: Recipe, *, asked: str | None, replace: bool
) -> Mapping[str, Any]:
    """Lay sets onto beds and write the files; the value is the report as written.

    Parameters
    ----------
    sets : sequence of Finished
    output : str
        Folder of the beds.
    settings : Recipe
        Of printer and beds.
    asked : str or None
        Rows that failed, such as "3,7": they are laid onto beds after those that are in the folder, which
        stay as they are. None lays all anew.
    replace : bool
        Whether files of others may be replaced.

    Raises
    ------
    RecipeError, OutputError
        In one line; then nothing is written.
    """
    folder = given_folder(output)
    shapes = Shapes()
    before, kept = ([], {}) if asked is None else _before(folder)
    if asked is None:
        laid = lay(copies(sets), settings, shapes)
    else:
        last = max((bed["number"] for bed in before), default=0)
        laid = lay(again(sets, asked), settings, shapes, what="again", after=last)
    files = dict(kept)
    parts: dict[str, tuple[Part, ...]] = {}
    for bed in laid.beds:
        here = {piece.unit.name: piece.unit for piece in bed.pieces}
        parts = {name: parts.get(name) or unit.parts() for name, unit in here.items()}
        files[_name(bed, "3mf")] = _threemf(bed, parts)
        files[_name(bed, "png")] = _map(bed, settings, shapes)
    report = _report(sets, [*before, *map(_bed_mapping, laid.beds)], laid, settings)
    files[PAGE] = beds_html(report, files)
    return write_set(folder, files, REPORT, report, Claim((), replace))


def findings_of(report: Mapping[str, Any]) -> list[Finding]:
    """Return the findings of a report."""
    return [finding(item["code"], item["message"]) for item in report["findings"]]


def _before(folder: Path) -> tuple[list[Mapping[str, Any]], dict[str, bytes]]:
    """Return the beds that an earlier run laid, and their files."""
    there = folder.is_dir() and (folder / REPORT).is_file()
    state = read_set(folder, REPORT) if there else None
    if state is None or not state.is_set or state.report.get("kind") != KIND:
        why = state.problems[0] if state is not None and state.problems else "there is no report of beds"
        raise OutputError(
            f"{printable(folder)} holds no beds to go on from: {why}; lay them first, without --again"
        )
    beds = state.report.get("beds")
    if not isinstance(beds, list) or not all(_is_bed(bed, state.report["files"]) for bed in beds):
        raise OutputError(f"the report of beds in {printable(folder)} was changed; lay them anew")
    names = [bed[key] for bed in beds for key in ("file", "map")]
    return beds, {name: (folder / name).read_bytes() for name in names}


def _is_bed(bed: object, files: Collection[str]) -> bool:
    """Return whether a part of a report is a bed as this module writes it, of files that the report lists."""
    return (
        isinstance(bed, dict)
        and set(bed) == _MEMBERS
        and all(isinstance(bed[name], str) for name in ("what", "file", "map"))
        and all(isinstance(bed[name], list) for name in ("pieces", "begins"))
        and bed["what"] in WHAT
        and bed["file"] in files
        and bed["map"] in files
        and all(type(bed[name]) in (int, float) for name in _NUMBERS)
        and all(
            isinstance(piece, dict)
            and isinstance(piece.get("row"), str)
            and isinstance(piece.get("what", ""), str)
            for piece in bed["pieces"]
        )
        and all(isinstance(one, dict) and set(one) == _BEGINS for one in bed["begins"])
    )


_NUMBERS = {"number", "changes", "between", "time_min", "attended_min", "mass_g", "purge_mm3"}
_MEMBERS = {"what", "file", "map", "pieces", "begins"} | _NUMBERS
_BEGINS = {"print", "layer", "z_mm", "color"}


def _name(bed: Bed, suffix: str) -> str:
    return f"bed-{bed.number:02d}.{suffix}"


def _threemf(bed: Bed, parts: Mapping[str, tuple[Part, ...]]) -> bytes:
    spots: dict[str, list[Spot]] = {name: [] for name in parts}
    for piece in bed.pieces:
        unit = piece.unit
        spot = "-".join(
            map(str, (unit.one.name, piece.copy, *((unit.what, unit.number) if unit.what else ())))
        )
        spots[unit.name].append(Spot(spot, piece.turn_deg, piece.at_mm))
    pieces = [BedPiece(name, own, spots[name]) for name, own in parts.items()]
    return bed_threemf_bytes(pieces, title=f"Bed {bed.number}")


def _map(bed: Bed, settings: Recipe, shapes: Shapes) -> bytes:
    pieces = []
    for piece in bed.pieces:
        shape = shapes.of(piece.unit)
        pieces.append(MapPiece(piece.unit.name, shape.lying, shape.outline, piece.turn_deg, piece.at_mm))
    return bed_map_png(pieces, settings.printer.bed_mm, title=f"Bed {bed.number}")


def _report(
    sets: Sequence[Finished], beds: Sequence[Mapping[str, Any]], laid: Laid, settings: Recipe
) -> dict[str, Any]:
    return {
        "schema": 1,
        "kind": KIND,
        "bed_mm": list(settings.printer.bed_mm),
        "spacing_mm": settings.beds.spacing_mm,
        "warm_up_min": settings.printer.warm_up_min,
        "beds": list(beds),
        "findings": [finding_mapping(item) for item in laid.findings],
        "cautions": row_cautions(sets),
    }


def _bed_mapping(bed: Bed) -> dict[str, Any]:
    work = bed.work
    return {
        "number": bed.number,
        "what": bed.what,
        "file": _name(bed, "3mf"),
        "map": _name(bed, "png"),
        "pieces": [
            {
                "row": piece.unit.one.name,
                "copy": piece.copy,
                **({"what": piece.unit.what} if piece.unit.what else {}),
                "at_mm": [round(value, _MM) + 0.0 for value in piece.at_mm],
                "turn_deg": piece.turn_deg,
            }
            for piece in bed.pieces
        ],
        "changes": work.changes,
        "between": work.between,
        "begins": [
            {"print": one.print, "layer": one.layer, "z_mm": one.z_mm, "color": to_hex(one.color)}
            for one in work.begins
        ],
        "time_min": round(work.time_min, _MIN),
        "attended_min": round(work.attended_min, _MIN),
        "mass_g": round(work.mass_g, _MM),
        "purge_mm3": round(work.purge_mm3, _MM),
    }
