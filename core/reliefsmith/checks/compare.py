"""The piece from above held against the picture: what the eye would miss, in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from ..colorimetry import color_word, to_hex
from ..colorimetry.lost import Lost
from ..colorimetry.reference import CELL_MM, Reference
from ..colorimetry.seen import BORDER_MM, Seen, seen
from ..findings import Finding, finding
from ..model import Above, Fidelity, Lettering, LetterLine, Missed, Sample
from ..model.arrays import Color, Labels
from ..polygons.cover import View, covering
from ..progress import Progress, Steps, drained
from .remedy import Remedy, base_remedy

__all__ = ["ENOUGH_EDGES", "ENOUGH_PAINT", "compare", "compare_steps", "judged"]

ENOUGH_EDGES = 0.97
"""Share of the edges below which a finding names what is lost."""

ENOUGH_PAINT = 0.95
"""Share of the art's area below which a finding names what shows in another color."""

_LEAST_MM = 1.0
"""A place that is smaller is not told: nobody looks for it."""

_MOST_TOLD = 6

_BESIDE_MM = 1.0
"""What is lost so near to a line of letters is lost there: pairs of places lie 0.8 mm apart."""

_NO_LETTERING = Lettering()


def compare_steps(
    picture: Sample | None, above: Above, lettering: Lettering = _NO_LETTERING
) -> Steps[Fidelity | None]:
    """Tell how much of its picture a piece shows from above, and what is lost where.

    Parameters
    ----------
    picture : Sample or None
        None where the picture is not at hand: then nothing is said.
    above : Above
        In the colors of the picture, whatever filaments it will be printed in.
    lettering : Lettering
        What is lost at lines that are too fine, its own findings tell.
    """
    if picture is None:
        return None
    yield Progress("comparing with the picture", 0.0)
    height, width = picture.outside.shape
    view = View(picture.left_mm, picture.top_mm, 1 / picture.cell_mm, (width, height))
    labels = np.where(picture.outside & _at_eyelet(above, picture), 0, _labels(above, view))
    yield Progress("comparing with the picture", 0.4)
    colors = (above.base_color, *(motif.color for motif in above.motifs))
    wanted = Reference(
        picture.rgb,
        picture.lab,
        picture.outside,
        picture.clear,
        picture.cell_mm,
        picture.first,
        picture.second,
    )
    found = seen(wanted, labels, np.array(colors, dtype=np.uint8), most_lost=_MOST_TOLD)
    remedy = None
    if found.edges_kept < ENOUGH_EDGES or found.paint_right < ENOUGH_PAINT:
        yield Progress("looking for what would show more", 0.6)
        remedy = base_remedy(wanted, found, (labels, colors), covering([above.base_art], view))
    yield Progress("comparing with the picture", 0.9)
    told = [item for item in found.lost if item.size_mm >= _LEAST_MM * picture.cell_mm / CELL_MM]
    missed = tuple(_missed(item, labels, colors, picture, remedy) for item in told)
    return judged(found, [item.kind for item in told], missed, lettering.lost)


compare = drained(compare_steps)


def judged(
    found: Seen, kinds: Sequence[str], missed: tuple[Missed, ...], lines: Sequence[LetterLine] = ()
) -> Fidelity:
    """Return the shares and the lost places, with findings where too much is lost beside fine lettering."""
    findings: list[Finding] = []
    for code, kind, share, enough, words in (
        ("edges-lost", "edge", found.edges_kept, ENOUGH_EDGES, "of the picture's edges do not show"),
        ("color-wrong", "paint", found.paint_right, ENOUGH_PAINT, "of the art shows in another color"),
    ):
        own_places = [item for item, own in zip(missed, kinds, strict=True) if own == kind]
        places = [item for item in own_places if not any(_lies_on(item, line) for line in lines)]
        if share >= enough or not places:
            continue
        first = places[0]
        where = f"the largest place: {first.what}, {first.size_mm:.1f} mm"
        way_out = next((f"; {item.remedy}" for item in places if item.remedy), "")
        message = f"{_percent(1 - share)} {words}; {where}{way_out}."
        findings.append(finding(code, message, (*first.at_mm, 0.0)))
    return Fidelity(found.edges_kept, found.paint_right, missed, tuple(findings))


def _lies_on(place: Missed, line: LetterLine) -> bool:
    """Tell whether a line that is too fine explains a lost place, which no other base would mend."""
    left, low, right, high = line.box_mm
    reach = max(right - left, high - low) + 2 * _BESIDE_MM
    near = line.outline.distance(shapely.Point(place.at_mm)) <= _BESIDE_MM
    return not place.remedy and place.size_mm <= reach and bool(near)


def _percent(share: float) -> str:
    return f"{share * 100:.0f} %" if share >= 0.1 else f"{share * 100:.1f} %"


def _labels(above: Above, view: View) -> Labels:
    """Return what each cell shows: 0 open air, 1 the base, then the motifs on it."""
    base, motif = covering([above.base], view), covering([item.polygon for item in above.motifs], view)
    return np.where(motif > 0, motif + 1, base).astype(np.uint8)


def _at_eyelet(above: Above, picture: Sample) -> npt.NDArray[np.bool_]:
    """Tell which cells lie at an eyelet: it is no part of the picture, so no outline is missed."""
    rows, columns = (np.arange(count) + 0.5 for count in picture.outside.shape)
    near = np.zeros(picture.outside.shape, dtype=bool)
    for (x, y), radius in above.eyelets:
        across = picture.left_mm + columns * picture.cell_mm - x
        down = picture.top_mm - rows * picture.cell_mm - y
        near |= across**2 + down[:, None] ** 2 <= (radius + BORDER_MM) ** 2
    return near


def _missed(
    item: Lost, labels: Labels, colors: Sequence[Color], picture: Sample, remedy: Remedy | None
) -> Missed:
    x, y = item.at_mm
    column, row = int(x / picture.cell_mm), int(y / picture.cell_mm)
    first, second = item.colors
    if item.kind == "paint":
        what = (
            f"{_word(first)} is left open"
            if second is None
            else f"{_word(first, second)} shows as {_word(second, first)}"
        )
    else:
        shown = int(labels[row, column])
        other = "the open ground" if second is None else _word(second, first)
        both = f"both are {_word(colors[shown - 1])}" if shown else "both are left open"
        what = f"{_word(first, second)} against {other}: {both}"
    at = (round(picture.left_mm + x, 3), round(picture.top_mm - y, 3))
    words = remedy.words if remedy is not None and remedy.mends(item) else ""
    return Missed(what, at, round(item.size_mm, 3), words)


def _word(color: Color, beside: Color | None = None) -> str:
    """Name a color by its word, and by its number too where another has the same word."""
    word = color_word(color)
    return f"{word} ({to_hex(color)})" if beside is not None and color_word(beside) == word else word
