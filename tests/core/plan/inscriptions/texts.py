"""A field with a bar in a frame, and the texts of a recipe on it, through the stages that they need."""

from __future__ import annotations

import shapely

from oracles import coverage_faults
from reliefsmith.model import FlatAreas, Inscribed, Plan
from reliefsmith.plan import connect, hang
from reliefsmith.plan.base.carry import carry
from reliefsmith.plan.inscriptions.inscribe import inscribe
from reliefsmith.plan.inscriptions.join import join
from reliefsmith.plan.strokes.repair import mend
from reliefsmith.recipe import Recipe
from reliefsmith.walk.inputs import as_fonts

from ..arts import flat, outlined

NAVY, RED, CREAM = (27, 42, 73), (216, 57, 43), (245, 236, 214)


def framed() -> FlatAreas:
    """A cream field of 60 x 40 mm with a red bar, framed in navy."""
    bar, field = shapely.box(-28, -18, -20, 18), shapely.box(-29, -19, 29, 19)
    frame = shapely.box(-30, -20, 30, 20) - field
    return flat((NAVY, frame), (RED, bar), (CREAM, field - bar))


def with_texts(*texts: dict, **values: object) -> Plan:
    recipe = Recipe().with_values({"colors.base": "#1b2a49", "lettering": list(texts), **values})
    areas, fonts, r = framed(), as_fonts(recipe), recipe
    plan = outlined(areas, r)
    inscribed = inscribe(
        plan.base, fonts, lettering=r.lettering, base=r.base, motif=r.motif, printer=r.printer
    )
    mended = mend(plan.drawing, areas, motif=r.motif, printer=r.printer)
    plan = carry(plan, mended, inscribed.ground, base=r.base, printer=r.printer)
    plan = connect(plan, pieces=r.pieces, base=r.base)
    plan = hang(plan, inscribed.reserved, hang=r.hang, heights=r.heights, printer=r.printer, base=r.base)
    return join(
        plan,
        inscribed,
        fonts,
        lettering=r.lettering,
        base=r.base,
        motif=r.motif,
        printer=r.printer,
        heights=r.heights,
    )


def motifs_of(plan: Plan) -> dict[tuple[int, int, int], shapely.MultiPolygon]:
    return {motif.color: motif.polygon for motif in plan.motifs}


def assert_sound(plan: Plan) -> None:
    assert coverage_faults([motif.polygon for motif in plan.motifs]) == ()
    assert all(shapely.covers(plan.base, motif.polygon) for motif in plan.motifs)


def inscribed_on(text: dict[str, object], base: shapely.Polygon) -> Inscribed:
    recipe = Recipe().with_values({"lettering": [text]})
    return inscribe(
        base,
        as_fonts(recipe),
        lettering=recipe.lettering,
        base=recipe.base,
        motif=recipe.motif,
        printer=recipe.printer,
    )
