"""One registry of finding and note codes: what each code means and how severe it is.

A *finding* is something the maker should know about the result; a *note* is a change that was made.
The code is stable (scripts rely on it); the message is written where the facts are known.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["CODES", "Code", "Finding", "Note", "Severity", "count_words", "finding", "note"]


class Severity(StrEnum):
    """How much a finding matters."""

    NOTE = "note"
    WARN = "warn"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Code:
    """A registered code: its name, its usual severity (None for notes of changes made) and its meaning."""

    name: str
    severity: Severity | None
    meaning: str


def _registry(*codes: Code) -> dict[str, Code]:
    return {code.name: code for code in codes}


_N, _W, _S = Severity.NOTE, Severity.WARN, Severity.STOP

CODES: dict[str, Code] = _registry(
    # Changes made by the plan (notes).
    Code("area-removed", None, "An area too small to print was given to its neighbor or left out."),
    Code("stroke-thickened", None, "A stroke thinner than the printable width was thickened there."),
    Code("gap-closed", None, "A gap too narrow to print was closed."),
    Code("gap-opened", None, "A gap too narrow to print was opened."),
    Code("dot-enlarged", None, "A dot too small to print was enlarged."),
    Code("opening-filled", None, "An opening of the base was filled."),
    Code("base-widened", None, "The base was widened where it was narrower than its least width."),
    Code("base-grown", None, "The base was grown under a motif that reached over it."),
    Code("link-added", None, "A link joins two pieces of the base."),
    Code("backing-added", None, "A backing under the artwork joins separate pieces of the base."),
    Code("eyelet-added", None, "An eyelet was added for the hanging hole."),
    Code("hole-cut", None, "A hanging hole was cut inside the base."),
    Code("opening-used", None, "An opening of the artwork serves as the hanging hole."),
    Code("motif-cleared", None, "Motifs were cut back round the hanging hole."),
    Code("hole-strength", None, "What the hanging hole holds, by which formulas."),
    Code("countersunk", None, "A screw hole was countersunk for the screw's head."),
    Code("pocket-cut", None, "A pocket for a magnet, a brooch pin or tape was cut into the back."),
    Code("base-color-added", None, "The base got a color of its own that the artwork does not have."),
    Code("base-color-anew", None, "Marks took the base's color out of the artwork, and it was chosen anew."),
    Code("field-kept", None, "A saturated color that fills the picture to its sides is part of the art."),
    Code("ground-taken", None, "The ground of an opaque picture was taken for background."),
    Code("ground-shown", None, "Areas of the ground that the art encloses are shown, not opened."),
    Code("heights-snapped", None, "Heights were moved to whole layers."),
    Code(
        "top-limited", None, "A shaped top is lower than asked, so that a layer of the motif stays upright."
    ),
    Code("hand-limited", None, "Hand relief was carved less deep, so that two layers of each part stay."),
    Code("order-chosen", None, "The order of the steps was searched."),
    Code("printed-in-turn", None, "Colors are printed one after another onto the same bed."),
    Code("split-in-plates", None, "The piece was split into two plates set on each other by pegs."),
    Code("tongue-added", None, "The base got a tongue for the slot of a foot."),
    Code("piece-cut", None, "The piece was cut into parts that fit the bed."),
    Code("checkerboard-removed", None, "A painted checkerboard was taken out of the picture."),
    Code("dots-folded", None, "Dots of a dithered picture were made the colors that they stand for."),
    Code("screenshot-cropped", None, "The emblem was cut out of a screenshot."),
    Code("picture-cropped", None, "Only a part of the picture was read."),
    Code("sheet-found", None, "The corners of a sheet of paper were found in a photograph."),
    Code("sheet-not-found", None, "No sheet of paper was found in a photograph, or none was looked for."),
    Code("sheet-straightened", None, "A sheet photographed at a slant was made straight."),
    Code("mirrored", None, "The picture was mirrored left to right, as the face of a stamp needs."),
    Code("turned", None, "The artwork was turned straight."),
    Code("shading-cut", None, "Shading wider than one color can stand for was cut in two at its middle."),
    Code("light-divided", None, "Uneven light was divided out of the picture."),
    Code("rims-removed", None, "Rims that sharpening had left beside edges were taken out of the picture."),
    Code("fringe-removed", None, "Rests of a color made transparent were taken out of the cut edges."),
    Code("outside-left-out", None, "Pictures that a drawing names outside its file were left out."),
    Code("text-set", None, "A text of the recipe was set there."),
    Code("text-webbed", None, "Eyes of letters that are cut into the side on the bed were held by webs."),
    Code("picture-laid", None, "A second picture was laid into the back."),
    Code("back-repaired", None, "What of the second picture cannot print was changed there."),
    Code("mark-applied", None, "A mark of the recipe corrected the picture there."),
    # Findings on the result.
    Code("not-watertight", _S, "A part is not a closed solid with its outside outward."),
    Code("parts-overlap", _S, "Two parts share volume."),
    Code("not-one-piece", _S, "The base falls into separate pieces."),
    Code("motif-over-edge", _S, "A motif reaches beyond what carries it."),
    Code("island-in-air", _S, "Something is printed with nothing below it."),
    Code("overhang", _W, "A layer reaches far beyond the layer below."),
    Code("thin-strokes", _W, "Strokes are thinner than the nozzle can print."),
    Code("much-repaired", _W, "Repair changed much of the visible area; a larger width would keep it."),
    Code("text-thin", _W, "The font of a text is too fine for its size."),
    Code("text-example", _W, "A text still has the words that stand for the customer's own."),
    Code("text-across", _W, "A text stands across areas of several colors."),
    Code("lettering-thin", _W, "A line of letters is too fine to print at this size."),
    Code("edges-lost", _W, "Colors that meet in the picture cannot be told apart on the piece."),
    Code("color-wrong", _W, "Part of the art shows in another color than the picture has there."),
    Code("hole-missing", _N, "There is no hanging hole."),
    Code("hole-wall-thin", _W, "The wall round the hanging hole is thin."),
    Code("hole-wall-weak", _S, "The wall round the hanging hole is too thin to hold."),
    Code("hole-weak", _W, "The wall round the hanging hole holds less than three times the test load."),
    Code("hangs-crooked", _W, "The piece hangs at an angle."),
    Code("countersink-shallow", _W, "The base is too low for a screw's head, which stands out."),
    Code("magnet-caution", _W, "Swallowed magnets are an emergency; none for children."),
    Code("pin-caution", _W, "A brooch pin has a sharp point; none for children."),
    Code("form-caution", _N, "What whoever gets the piece is to know of its form."),
    Code("long-bridge", _W, "A layer bridges farther than it holds in the air."),
    Code("first-layer-island", _W, "A small island on the first layer may come loose from the bed."),
    Code("corner-may-lift", _N, "A sharp corner of a long piece may lift from the bed."),
    Code("changes-in-layers", _N, "Colors share layers, so the filament changes by hand within layers."),
    Code("low-contrast", _W, "Two neighboring colors are hard to tell apart."),
    Code("top-coarse", _N, "A shaped top is so low for its layers that it prints as a few terraces."),
    Code("hand-off", _N, "Some of the hand relief lies where no top can be seen."),
    Code("hand-thin", _W, "Walls or points of hand relief are narrower than the nozzle lays."),
    Code(
        "hand-changes", _N, "Hand relief lifts a part into layers of later colors, which takes more changes."
    ),
    Code("low-hiding", _N, "A light layer over a dark one may let it show through."),
    Code("key-missing", _W, "Two parts of a piece that is cut have no room for a key."),
    Code("stand-tips", _W, "The piece tips over easily on its feet."),
    Code("face-thickness", _W, "The face of a lit sign is too thick or too thin for its light."),
    Code("lamp-spots", _W, "Lamps behind a face are farther apart than from it."),
    Code("lamp-caution", _W, "Lamps in a printed housing: low voltage only, never mains."),
    Code("pegs-missing", _W, "Two plates have no room for pegs."),
    Code("small-part", _N, "The piece fits in the small-parts cylinder; keep it from children under 3."),
    Code("sharp-tip", _N, "The outline has a sharp tip."),
    Code("bed-too-small", _S, "The piece is larger than the bed."),
    Code("pieces-near", _W, "Two pieces on a bed are nearer to each other than the spacing."),
    Code("not-approved", _S, "The files of a set are not those of the proof that was approved."),
    Code("row-left-out", _S, "A row whose own report says not to print it was not laid onto a bed."),
    Code("colors-fewer", _N, "Fewer flat colors were found than asked for."),
    Code("color-unmatched", _N, "A color or part named in the settings is none of the picture's."),
    Code("not-straightened", _N, "The picture looks turned, but not surely enough to turn it."),
    Code("filament-far", _N, "The filament matched to a part is another color at a glance."),
    Code("color-folded", _N, "A color went into another, so that no more are needed than `colors.most`."),
    Code("colors-many", _W, "A count or a palette asks for more colors than `colors.most`."),
    Code("base-not-in-stock", _W, "The base has another color than it would, as the stock asks."),
    Code("filament-missing", _W, "There is no filament in stock for a part."),
    Code("filament-short", _W, "Less of a filament is left than the pieces take."),
    Code("filament-thin", _N, "A part is thinner than its filament was tested to hide."),
    Code("left-thin", _N, "Strokes too thin to print surely were left as they are, as a mark asks."),
    Code("part-moved", _W, "A part is not where it was made."),
    Code("part-tilted", _W, "A part is tilted against the way it was made."),
    Code("part-scaled", _W, "A part has another size than it was made with."),
    Code("part-reshaped", _W, "A part has another outline than it was made with."),
    Code("part-taller", _N, "A part is higher or lower than it was made."),
    Code("part-missing", _W, "A part that was made is missing."),
    Code("solid-added", _N, "Something is taken with the piece that is no part of the relief."),
    Code("solids-cross", _S, "Bodies of one part cross or double each other, or its surface crosses itself."),
    Code("slot-narrow", _W, "A slot is narrower than the nozzle lays, and closes."),
    Code("wall-thin", _W, "A wall narrower than two lines of the nozzle stands high."),
    Code("off-layers", _W, "A flat top lies between two layers."),
    Code("copy-stale", _W, "What stands for a part was made from other settings."),
    Code("unit-assumed", _N, "A file has no unit and no up: millimeters and z up were assumed."),
    Code("repair-offered", _N, "What a safe repair would do to a part that is no closed solid."),
    Code("repaired", _N, "What was repaired of a part, and what not."),
    Code("mark-missed", _W, "A mark of the recipe could not be applied."),
)


@dataclass(frozen=True, slots=True)
class Finding:
    """Something the maker should know, with the place in mm where there is one."""

    code: str
    severity: Severity
    message: str
    at_mm: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Note:
    """A change that was made, with its place and size in mm where there is one."""

    code: str
    message: str
    at_mm: tuple[float, float] | None = None
    size_mm: float | None = None


def count_words(number: int, word: str) -> str:
    """Write how many there are of something.

    Examples
    --------
    >>> count_words(1, "piece"), count_words(0, "color change")
    ('1 piece', '0 color changes')
    """
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def finding(
    code: str,
    message: str,
    at_mm: tuple[float, float, float] | None = None,
    severity: Severity | None = None,
) -> Finding:
    """Make a finding with a registered code; its severity is the registered one unless given.

    Raises
    ------
    KeyError
        If the code is not registered.
    """
    usual = CODES[code].severity
    return Finding(code, severity or usual or Severity.NOTE, message, at_mm)


def note(
    code: str, message: str, at_mm: tuple[float, float] | None = None, size_mm: float | None = None
) -> Note:
    """Make a note of a change with a registered code.

    Raises
    ------
    KeyError
        If the code is not registered.
    """
    return Note(CODES[code].name, message, at_mm, size_mm)
