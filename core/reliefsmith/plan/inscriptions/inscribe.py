"""Texts with a place of their own, set before the base is widened, so that it carries them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import shapely
from shapely import affinity

from ...model import FontFile, Inscribed, SetText
from ...polygons import GRID_MM, as_multi, closed, grow, merged, polygons_of
from ...progress import Progress, Steps, drained
from ...recipe.sections import BaseSettings, Inscription, MotifSettings, PrinterSettings
from ..base.outline import MARGIN_SLACK_MM
from ..strokes.leastwidths import Limits
from .compose import Composer

__all__ = ["inscribe", "inscribe_steps"]


def inscribe_steps(
    carrier: shapely.Geometry,
    fonts: Sequence[FontFile],
    *,
    lettering: Sequence[Inscription],
    base: BaseSettings,
    motif: MotifSettings,
    printer: PrinterSettings,
) -> Steps[Inscribed]:
    """Set the texts of the front that have a point or a box, and tell what base they need.

    The base is to carry the whole box of a text, so that names of one batch share their base; of a text at a
    point its hull, if a letter reaches nearer to the edge than the margin. Box or hull of a text of the back
    are kept for it.

    Parameters
    ----------
    carrier : Polygon or MultiPolygon
        The base before it is widened.
    fonts : sequence of FontFile
        One for each text of the recipe.
    lettering, base, motif, printer : parts of the recipe

    Raises
    ------
    RecipeError
        If a font cannot be used, or lacks a letter.
    GeometryError
        If a text does not fit into its box.
    """
    limits = Limits.of(motif, printer)
    texts: list[SetText] = []
    ground: list[shapely.MultiPolygon] = []
    reserved: list[shapely.MultiPolygon] = []
    behind: list[shapely.MultiPolygon] = []
    for number, (item, font) in enumerate(zip(lettering, fonts, strict=True), start=1):
        yield Progress("setting texts", (number - 1) / len(lettering))
        if item.at_mm is None and item.box_mm is None:
            continue
        composer = Composer(number, item, font, limits)
        if item.place == "back":
            behind.append(as_multi(composer.box or shapely.convex_hull(composer.given().letters)))
            continue
        made = composer.given()
        texts.append(SetText(item.text, number, made.letters, made.size_mm, made.at_mm))
        needed = _joined(_ground(item, made.letters, base), carrier, _height(item, made.size_mm))
        reserved.append(needed)
        whole = made.letters if item.box_mm is None else needed
        if not shapely.covers(carrier, grow(whole, base.margin_mm + MARGIN_SLACK_MM)):
            ground.append(needed)
    return Inscribed(tuple(texts), merged(ground), merged(reserved), merged(behind))


inscribe = drained(inscribe_steps)


def _ground(item: Inscription, letters: shapely.MultiPolygon, base: BaseSettings) -> shapely.MultiPolygon:
    """Return the base under a text: its box or hull with the border round it."""
    border = max(base.border_mm, base.margin_mm + MARGIN_SLACK_MM)
    if item.box_mm is not None:
        left, low, width, height = item.box_mm
        box = affinity.rotate(shapely.box(left, low, left + width, low + height), item.turn_deg)
        return grow(box, border)
    if item.arc_mm is not None:
        pairs = (merged(pair) for pair in pairwise([letters.geoms[0], *letters.geoms]))
        return grow(merged([shapely.convex_hull(pair) for pair in pairs]), border)
    return grow(shapely.convex_hull(letters), border)


def _height(item: Inscription, size: float) -> float:
    """Return how high a text stands, the same for all texts of one box."""
    return size if item.box_mm is None else item.box_mm[3] / 2


def _joined(ground: shapely.MultiPolygon, carrier: shapely.Geometry, high: float) -> shapely.MultiPolygon:
    """Return the base under a text with slits beside it filled that are narrower than the text is high."""
    beside = carrier.intersection(grow(ground, 2 * high))
    slits = polygons_of(closed(merged([ground, beside]), high / 2).difference(merged([ground, carrier])))
    return merged([ground, *(slit for slit in slits if slit.distance(ground) <= GRID_MM)])
