"""Numbers and facts of a job in short plain words, said once for the proof and the sheet."""

from __future__ import annotations

from collections.abc import Iterable

from ..findings import Severity, count_words
from ..model import Hole, Result
from .legend import LegendEntry

__all__ = [
    "AUDIENCE",
    "NUMBERS",
    "SEVERITY",
    "changes_words",
    "hang_words",
    "height_words",
    "kind_words",
    "layer_words",
    "mm",
    "plumb_words",
    "pocket_words",
    "row_words",
    "scale_words",
    "sides_words",
    "size_words",
    "style_words",
]

SEVERITY = {
    Severity.STOP: "Stop",
    Severity.WARN: "Look at this",
    Severity.NOTE: "Good to know",
}

AUDIENCE = {"adults": "for adults", "children": "for children"}

_KINDS = {
    "checkerboard": "its checkerboard was taken for transparency",
    "dithered": "taken for a dithered drawing",
    "screenshot": "taken for a screenshot",
    "paper": "taken for a photograph of a sheet",
}


def mm(value: float, decimals: int = 1) -> str:
    """Write a length: "68.0", never "-0.0".

    Examples
    --------
    >>> mm(68), mm(-0.001), mm(0.25, 2)
    ('68.0', '0.0', '0.25')
    """
    return f"{round(value, decimals) + 0.0:.{decimals}f}"


def row_words(name: str) -> str:
    """Write what a set is called on pages of many: a row by its number, else its own name.

    Examples
    --------
    >>> row_words("7"), row_words("kite")
    ('Row 7', 'kite')
    """
    return f"Row {name}" if name.isdigit() else name


def changes_words(result: Result) -> str:
    """Write how many changes were made to the drawing: each note is one, on every page.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> changes_words(SimpleNamespace(notes=(1,))), changes_words(SimpleNamespace(notes=(1, 2)))
    ('1 change', '2 changes')
    """
    return count_words(len(result.notes), "change")


def sides_words(sides_mm: Iterable[float]) -> str:
    """Write a size.

    Examples
    --------
    >>> sides_words((52.4, 88.06, 2.6))
    '52.4 × 88.1 × 2.6 mm'
    """
    return " × ".join(map(mm, sides_mm)) + " mm"


def size_words(result: Result) -> str:
    """Write the size of the whole piece, as in "52.4 × 88.1 × 2.6 mm"."""
    if (size := result.stack.piece_size_mm) is not None:
        return sides_words(size)
    low = [min(float(part.vertices[:, axis].min()) for part in result.parts) for axis in range(3)]
    high = [max(float(part.vertices[:, axis].max()) for part in result.parts) for axis in range(3)]
    return sides_words(b - a for a, b in zip(low, high, strict=True))


def style_words(result: Result) -> str:
    """Write how motifs stand in the base, and why where the recipe left it open.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> stack = SimpleNamespace(style="raised", style_reason="one color on the base")
    >>> style_words(SimpleNamespace(stack=stack))
    'raised: one color on the base'
    """
    return ": ".join(filter(None, (result.stack.style, result.stack.style_reason)))


def kind_words(result: Result) -> str:
    """Write what the picture was taken for, where that was no drawing as it is.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> kind_words(SimpleNamespace(artwork_kind="paper")), kind_words(SimpleNamespace(artwork_kind="flat"))
    ('taken for a photograph of a sheet', '')
    """
    return _KINDS.get(result.artwork_kind or "", "")


def height_words(entry: LegendEntry) -> str:
    """Write from where to where a part reaches."""
    return f"{mm(entry.z_mm[0])}–{mm(entry.z_mm[1])} mm"


def layer_words(entry: LegendEntry) -> str:
    """Write the layers of a part.

    Examples
    --------
    >>> layer_words(LegendEntry(2, "red", "motif", (211, 32, 32), (2.0, 2.6), (11, 13)))
    'layers 11–13'
    """
    first, last = entry.layers
    return f"layer {first}" if first == last else f"layers {first}–{last}"


NUMBERS = {1: "one", 2: "two", 4: "four"}
"""How many a piece hangs by."""


def scale_words(scale: float) -> str:
    """Write a drawing's scale.

    Examples
    --------
    >>> scale_words(1.0), scale_words(0.5), scale_words(2.0)
    ('true size', 'drawn at 1 : 2', 'drawn 2 times as large')
    """
    if scale == 1.0:
        return "true size"
    return f"drawn at 1 : {1 / scale:.3g}" if scale < 1 else f"drawn {scale:g} times as large"


def hang_words(result: Result) -> str:
    """Write how the piece hangs."""
    hole = result.plan.hole
    if hole is None:
        return pocket_words(result) or "no hanging hole"
    size = mm(hole.diameter_mm) if hole.slot_mm is None else f"{mm(hole.slot_mm[0])} × {mm(hole.slot_mm[1])}"
    kind = "screw hole" if hole.hardware == "screw" else "hole" if hole.slot_mm is None else "slot"
    count = len(result.plan.holes)
    made = f"{kind} {size} mm" if count == 1 else f"{count} {kind}s {size} mm"
    words = f"{made}, wall {mm(min(item.wall_mm for item in result.plan.holes))} mm"
    return words if hole.hardware == "screw" and count > 1 else f"{words}, {plumb_words(hole)}"


def pocket_words(result: Result) -> str:
    """Write what the pockets in the back hold, or nothing where there are none."""
    kinds = [pocket.kind for pocket in result.plan.pockets if pocket.side == "back"]
    if not kinds:
        return ""
    if kinds[0] == "pin":
        return "brooch pin in the back"
    if kinds[0] == "tape":
        return "adhesive tape in the back"
    return "magnet in the back" if len(kinds) == 1 else f"{len(kinds)} magnets in the back"


def plumb_words(hole: Hole) -> str:
    """Write how upright the piece hangs, in whole degrees."""
    off = round(hole.hang_angle_deg)
    return f"hangs {off}° off plumb" if off else "hangs plumb"
