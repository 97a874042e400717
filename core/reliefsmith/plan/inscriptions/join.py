"""Texts joined to the finished plan: raised ones among the motifs, sunk ones cut in; free areas filled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from ...errors import GeometryError
from ...findings import note
from ...model import FontFile, Inscribed, Plan, SetText
from ...polygons import as_multi, without
from ...progress import Progress, Steps, drained
from ...recipe.sections import (
    BaseSettings,
    HeightSettings,
    Inscription,
    MotifSettings,
    PrinterSettings,
    settled,
)
from ..hang.balance import center_of_mass, hang_angle
from ..hang.bore import rounded
from ..strokes.leastwidths import Limits
from .advice import text_findings
from .among import with_letters
from .compose import Composed, Composer
from .inkcolor import color_behind, color_for
from .rooms import back_room, front_room
from .webs import webbed

__all__ = ["join", "join_steps"]

_OVER_MM2 = 1e-4
"""What of letters may lie beyond the base: a square of ten steps of the grid, which rounding may leave."""


def join_steps(
    plan: Plan,
    inscribed: Inscribed,
    fonts: Sequence[FontFile],
    *,
    lettering: Sequence[Inscription],
    base: BaseSettings,
    motif: MotifSettings,
    printer: PrinterSettings,
    heights: HeightSettings,
) -> Steps[Plan]:
    """Put the texts of a recipe on the piece, in their order.

    Raised letters take their place from all motifs and become part of the motif of their color, or a motif of
    a color of their own; in the base's color they are where motifs give way to it. Sunk letters are cut into
    the base, and through motifs down to it.

    Parameters
    ----------
    plan : Plan
        With its hole.
    inscribed : Inscribed
        The texts that have a place of their own.
    fonts : sequence of FontFile
        One for each text.
    lettering, base, motif, printer, heights : parts of the recipe

    Raises
    ------
    GeometryError
        If a text does not fit, or reaches over an edge, a hole or a pocket.
    """
    limits = Limits.of(motif, printer)
    given = {item.number: item for item in inscribed.texts}
    for number, (item, font) in enumerate(zip(lettering, fonts, strict=True), start=1):
        yield Progress("joining texts", (number - 1) / len(lettering))
        composer = Composer(number, item, font, limits)
        if number in given:
            made = given[number]
        else:
            found = _fitted(plan, composer, base)
            made = SetText(item.text, number, found.letters, found.size_mm, found.at_mm)
        if item.place == "back":
            made = replace(made, side="back")
        _check_inside(plan, made)
        plan = replace(plan, findings=(*plan.findings, *text_findings(plan, composer, made)))
        plan = _joined(plan, made, item, limits, heights)
    if not lettering:
        return plan
    heights, _ = settled(heights, base, printer, len(plan.motifs))
    return _balanced(plan, heights)


join = drained(join_steps)


def _balanced(plan: Plan, heights: HeightSettings) -> Plan:
    """Return the plan with its centre of mass and the angle at which it hangs as the letters have them."""
    pockets = (*plan.pockets, *plan.sunk)
    center = center_of_mass(plan.base, plan.motifs, heights, pockets)
    hole = plan.hole
    if hole is not None and not plan.other_holes:
        hole = replace(hole, hang_angle_deg=round(hang_angle(hole.center_mm, center), 3))
    return replace(plan, hole=hole, center_of_mass_mm=rounded(center))


def _fitted(plan: Plan, composer: Composer, base: BaseSettings) -> Composed:
    """Set a text in the room that it means: on the back, in one area, or in the widest free one."""
    item, limits = composer.inscription, composer.limits
    if item.place == "back":
        room = back_room(plan, base, limits)
        return composer.inside(room)
    return composer.largest(front_room(plan, item.area_mm, base, limits))


def _check_inside(plan: Plan, made: SetText) -> None:
    """Refuse a text that reaches over the base's edge or the hole."""
    over = shapely.difference(made.letters, plan.base)
    if over.area > _OVER_MM2:
        place = over.representative_point()
        raise GeometryError(
            f"text {made.number} reaches over the hanging hole or an edge near ({place.x:.1f},"
            f" {place.y:.1f}) mm; move it, or move the hole with hang.at_mm"
        )


def _joined(plan: Plan, made: SetText, item: Inscription, limits: Limits, heights: HeightSettings) -> Plan:
    """Return the plan with one text more."""
    if item.is_sunk:
        bare = made.letters
        if item.place == "front":
            for motif in plan.motifs:
                bare = without(bare, motif.polygon)
        made = replace(made, cut=as_multi(bare), depth_mm=item.depth_mm)
        if item.place == "back":
            made = replace(made, color=color_behind(plan, made, item.color))
        on_bed = (made.side == "back") == (heights.face == "up" or heights.split != "none")
        if on_bed and made.color is None:
            plan, made = _webbed(plan, made, limits)
        if made.side == "back":
            return replace(plan, texts=(*plan.texts, made))
        return with_letters(plan, made, plan.base_color, limits)
    return with_letters(plan, made, color_for(plan, made, item.color), limits)


def _webbed(plan: Plan, made: SetText, limits: Limits) -> tuple[Plan, SetText]:
    """Return a text whose eyes are held by webs, and the plan with a note of them."""
    cut, count = webbed(made.cut, limits)
    if not count:
        return plan, made
    x, y = (round(float(value), 3) for value in made.letters.centroid.coords[0])
    held = (
        "1 eye that would come loose there is"
        if count == 1
        else f"{count} eyes that would come loose there are"
    )
    words = (
        f"Text {made.number} is cut into the side on the bed; {held} held by webs of {limits.stroke:g} mm."
    )
    said = note("text-webbed", words, (x, y), limits.stroke)
    return replace(plan, notes=(*plan.notes, said)), replace(made, cut=cut)
