"""All files of one job: rendered to bytes first, then written as one set with the report last."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import Any

from ..errors import GeometryError
from ..findings import Finding
from ..formats.claims import Claim
from ..model import Part, Result
from ..progress import Progress, Steps, drained, labelled
from ..recipe import Recipe
from ..recipe.sections import SHIPPED_FONTS, Inscription

__all__ = [
    "PROOF_SUFFIX",
    "as_printed",
    "file_steps",
    "versions",
]
__all__ += ["write_parts", "write_parts_steps", "write_row_steps", "write_steps"]

PROOF_SUFFIX = "-proof.png"
_USUAL = Claim()
_LIBRARIES = ("numpy", "shapely", "pillow")
_MODULES = {"pillow": "PIL"}


def versions() -> dict[str, str]:
    """Return the versions of this package and of the libraries that shape its results.

    Examples
    --------
    >>> sorted(versions())
    ['geos', 'numpy', 'pillow', 'reliefsmith', 'shapely']
    """
    import shapely

    from .. import __version__

    found = {"reliefsmith": __version__, "geos": ".".join(map(str, shapely.geos_version))}
    for name in _LIBRARIES:
        with contextlib.suppress(ImportError):  # of metadata: Blender may carry a library without it
            found[name] = _version(name)
    return found


def _version(library: str) -> str:
    """Ask the library itself; its metadata take a while to read."""
    own = getattr(import_module(_MODULES.get(library, library)), "__version__", None)
    if own is not None:
        return str(own)
    from importlib.metadata import version

    return version(library)


def file_steps(result: Result, *, title: str = "", drawn: bool = True) -> Steps[dict[str, bytes]]:
    """Render every file but the report to bytes in small steps, names as in the report.

    Parameters
    ----------
    result : Result
    title : str
        What the 3MF calls the piece; the job's own title, else the stem, where it is empty.
    drawn : bool
        Whether the proof and the sheet are among them: drawing takes most of the time.
    """
    from .. import formats
    from ..documents.proof.proof import proof_png_steps, thumbnail_png
    from ..documents.sheet.sheet import sheet_html
    from ..documents.views import front_face
    from .apartfiles import apart_files

    stem = result.stem
    names = {part.color: part.name for part in reversed(result.parts)}  # a back plate has the base's color
    title = title or result.recipe.order.title or stem
    files: dict[str, bytes] = {}
    front = front_face(result.stack)
    yield Progress("writing 3MF", 0.0, "write")
    files[f"{stem}.3mf"] = formats.threemf_bytes(
        result.parts, title=title, thumbnail_png=thumbnail_png(result, front=front)
    )
    yield Progress("writing STL, SVG and GLB", 0.2, "write")
    for part in result.parts:
        files[f"{stem}-{part.name}.stl"] = formats.stl_bytes(part)
    files[f"{stem}.svg"] = formats.plan_svg(result.plan, names)
    files[f"{stem}.glb"] = formats.glb_bytes(result.parts)
    files |= apart_files(result)
    recipe = result.recipe
    if result.hand is not None:
        from ..formats.heightfile import heights_tiff

        name, relief = f"{stem}-hand.tiff", result.hand
        files[name] = heights_tiff(relief.values)
        framed = {"hand": name, "hand_origin": relief.origin, "hand_step": relief.step}
        recipe = recipe.merged({"heights": framed})  # so that it makes the same set again
    if result.second is not None:
        name = f"{stem}-back{Path(recipe.back.picture).suffix.lower()}"
        files[name] = result.second.data
        recipe = recipe.with_values({"back.picture": name})
    fonts, texts = _own_fonts(result)
    files |= fonts
    files[f"{stem}-recipe.toml"] = replace(recipe, lettering=texts).to_toml().encode()
    if drawn:
        result = _approvable(result, files)
        proof = yield from labelled("write", proof_png_steps(result, front))
        files[f"{stem}{PROOF_SUFFIX}"] = proof
        yield Progress("writing the job sheet", 0.8, "write")
        files[f"{stem}-sheet.html"] = sheet_html(result, proof_png=proof, front=front)
    return files


def _approvable(result: Result, files: Mapping[str, bytes]) -> Result:
    """Return a job with the approval of its files, which the proof shows and is no part of."""
    from .approval import approval_of

    digests = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    return replace(result, approval=approval_of(result.stem, digests, result.recipe))


def _own_fonts(result: Result) -> tuple[dict[str, bytes], tuple[Inscription, ...]]:
    """Return the files of fonts that are not shipped, and the texts of the recipe with these files' names."""
    files: dict[str, bytes] = {}
    texts = []
    for item, font in zip(result.recipe.lettering, result.fonts, strict=False):
        if item.font in SHIPPED_FONTS:
            texts.append(item)
            continue
        known = next((name for name, data in files.items() if data == font.data), "")
        name = known or f"{result.stem}-font-{len(files) + 1}{Path(font.name).suffix.lower()}"
        files[name] = font.data
        texts.append(replace(item, font=name))
    return files, tuple(texts)


def write_steps(result: Result, folder: Path, claim: Claim = _USUAL) -> Steps[Mapping[str, Any]]:
    """Write the whole set in small steps; the value is the report as written."""
    from ..documents.report import report_mapping
    from ..formats.setwriting import write_set

    files = yield from file_steps(result)
    report = report_mapping(_approvable(result, files), versions())
    yield Progress("writing the files", 0.9, "write")
    return write_set(folder, files, f"{result.stem}-report.json", report, claim)


def write_row_steps(
    result: Result, folder: Path, claim: Claim, *, made_of: str, drawn: bool
) -> Steps[Mapping[str, Any]]:
    """Write the set of a row of a batch in small steps; the value is the report as written.

    Whom the piece is for, and what its texts say, stands in its recipe and, where they are `drawn`, in proof
    and sheet; not in the report nor in the 3MF. The report says by `made_of` what the set was made of.
    """
    from ..documents.report import report_mapping
    from ..formats.setwriting import write_set

    files = yield from file_steps(result, title=result.stem, drawn=drawn)
    order = replace(result.recipe.order, title="", customer="")
    nameless = replace(_approvable(result, files), recipe=replace(result.recipe, order=order))
    report = {**report_mapping(nameless, versions()), "made_of": made_of}
    yield Progress("writing the files", 0.9, "write")
    return write_set(folder, files, f"{result.stem}-report.json", report, claim)


def as_printed(parts: Sequence[Part], recipe: Recipe) -> tuple[Part, ...]:
    """Return the parts of a finished piece, front up, as they lie on the bed.

    Raises
    ------
    GeometryError
        If it is printed as two plates, which a finished piece is not taken apart into.
    """
    if recipe.heights.face == "up":
        return tuple(parts)
    if recipe.heights.split != "none":
        raise GeometryError("a finished piece is not taken apart into two plates; take it as it is printed")
    from ..solid.bed import laid_down

    return laid_down(parts)


def write_parts_steps(
    parts: Sequence[Part],
    folder: str | Path,
    *,
    stem: str,
    recipe: Recipe,
    found: Sequence[Finding] | None = None,
    picture: Path | None = None,
    replace: bool = False,
) -> Steps[Mapping[str, Any]]:
    """Check parts of any origin, such as ones finished by hand, and write them as one set in small steps.

    Parameters
    ----------
    parts : sequence of Part
        At least one, in the places where they are printed.
    folder : path
    stem : str
        File names start with it.
    recipe : Recipe
        Printer, layers and audience that they are checked for.
    found : sequence of Finding, optional
        What `check_parts` found on these parts, if it was asked before.
    picture : Path, optional
        From which the parts were made first. Parts of the same picture, or of none, give way to later ones.
    replace : bool
        Whether the files of others may be replaced too.

    Returns
    -------
    mapping
        The report as written: `files`, `parts`, `findings`, `versions`.

    Raises
    ------
    GeometryError
        If a part is no closed solid; then nothing is written.
    TakenError
        If another file would be replaced; then nothing is written.
    OutputError
        If a file cannot be written; then no new file is left.
    """
    from .. import formats
    from ..checks.independent import check_parts_steps, one_set
    from ..documents.report import finding_mapping, parts_mapping, picture_member
    from ..formats.setwriting import given_folder, safe_stem, write_set
    from .keys import picture_id

    folder = given_folder(folder)
    parts, stem = one_set(parts), safe_stem(stem)
    if found is None:
        found = yield from check_parts_steps(
            parts,
            printer=recipe.printer,
            heights=recipe.heights,
            audience=recipe.audience,
            hangs=recipe.hang.hardware != "none",
        )
    broken = next((item for item in found if item.code == "not-watertight"), None)
    if broken is not None:
        raise GeometryError(f"nothing was written: {broken.message} Mend it and write again.")
    yield Progress("writing 3MF and STL", 0.8, "write")
    files = {f"{stem}.3mf": formats.threemf_bytes(parts, title=recipe.order.title or stem)}
    files |= {f"{safe_stem(f'{stem}-{part.name}')}.stl": formats.stl_bytes(part) for part in parts}
    report = {
        "schema": 1,
        "kind": "parts",
        **picture_member(None if picture is None else picture_id(picture)),
        "parts": parts_mapping(parts),
        "findings": [finding_mapping(item) for item in found],
        "versions": versions(),
    }
    yield Progress("writing the files", 0.9, "write")
    claim = Claim(() if picture is None else (picture,), replace)
    return write_set(folder, files, f"{stem}-report.json", report, claim)


write_parts = drained(write_parts_steps)
